package quantity

import (
	"regexp"
	"strconv"
	"strings"
)

var (
	clockForm    = regexp.MustCompile(`^([+-]?) *([0-9]+):([0-9]{1,2})(?::([0-9]{1,2}))?(?:[.,]([0-9]+))?$`)
	compoundForm = regexp.MustCompile(`^([+-]?) *((?:[0-9]+ *(?:[a-zA-Z]+ *))+)([0-9]*)(?:[.,]([0-9]+))? *([a-zA-Z]*)$`)
	number       = regexp.MustCompile(`[0-9]+`)
	component    = regexp.MustCompile(`([0-9]+) *([a-zA-Z]+)`)
)

// ladder is the order of units in a compound time, with how many of each make
// one of the next larger.
var ladder = []struct {
	names   string
	seconds int
	limit   int
}{
	{" d day days ", 86400, 0}, {" h H hr hrs hour hours ", 3600, 24},
	{" m min mins minute minutes ", 60, 60}, {" s sec secs second seconds ", 1, 60},
}

func rung(name string) int {
	for i, step := range ladder {
		if name != "" && strings.Contains(step.names, " "+name+" ") {
			return i
		}
	}
	return -1
}

// time reads mm:ss (h:mm where hours are wanted), h:mm:ss, and compounds such as 14m20s and 1h30; ok tells
// whether the text has one of these forms.
func (s *scanner) time() (q Quantity, ok bool, err error) {
	text := strings.TrimSpace(string(s.runes))
	if m := clockForm.FindStringSubmatch(text); m != nil {
		parts := []timePart{{m[2], 1}, {m[3], 2}, {m[4], 3}}
		if m[4] == "" && s.wanted != nil && s.wanted.unit.Symbol == "h" {
			parts = parts[:2]
		} else if m[4] == "" {
			parts = []timePart{{m[2], 2}, {m[3], 3}}
		}
		q, err = s.timeOf(m[1] == "-", parts, m[5])
		return q, true, err
	}
	if m := compoundForm.FindStringSubmatch(text); m != nil {
		return s.compound(m)
	}
	return Quantity{}, false, nil
}

// timePart is a number with its place on the ladder.
type timePart struct {
	digits string
	rung   int
}

// compound reads the parts of 1h30 or 14m20s. A last number without unit
// belongs to the next smaller unit.
func (s *scanner) compound(m []string) (Quantity, bool, error) {
	var parts []timePart
	for _, c := range component.FindAllStringSubmatch(m[2], -1) {
		parts = append(parts, timePart{c[1], rung(c[2])})
	}
	sign, last, fraction, lastUnit := m[1], m[3], m[4], m[5]
	if last != "" {
		at := rung(lastUnit)
		if lastUnit == "" {
			at = parts[len(parts)-1].rung + 1
		}
		parts = append(parts, timePart{last, at})
	}
	if len(parts) < 2 || parts[0].rung < 0 || last == "" && (fraction != "" || lastUnit != "") {
		return Quantity{}, false, nil // another quantity, such as 5 min or 2k2
	}
	if s.wanted == nil && parts[0].rung == 2 && last != "" && lastUnit == "" {
		return Quantity{}, false, s.failAt(0, string(s.runes), "a unit at the end: "+strings.TrimSpace(string(s.runes))+"s if minutes and seconds are meant")
	}
	for i, p := range parts {
		if p.rung < 0 || p.rung >= len(ladder) || i > 0 && p.rung <= parts[i-1].rung {
			return Quantity{}, false, s.failAt(0, string(s.runes), "days, hours, minutes and seconds in this order")
		}
	}
	q, err := s.timeOf(sign == "-", parts, fraction)
	return q, true, err
}

// timeOf adds the parts up; fraction belongs to the last.
func (s *scanner) timeOf(neg bool, parts []timePart, fraction string) (Quantity, error) {
	seconds := 0.0
	for i, p := range parts {
		step := ladder[p.rung]
		n, err := strconv.Atoi(p.digits)
		if err != nil || n > 1e9 {
			return Quantity{}, s.failAt(s.indexOf(i), p.digits, "a smaller number")
		}
		if i > 0 && n >= step.limit {
			names := strings.Fields(step.names)
			return Quantity{}, s.failAt(s.indexOf(i), p.digits, "fewer than "+strconv.Itoa(step.limit)+" "+names[len(names)-1])
		}
		seconds += float64(n * step.seconds)
	}
	unit := float64(ladder[parts[len(parts)-1].rung].seconds)
	part := decimal{}
	if fraction != "" {
		part = trimmed(false, fraction, 0)
	}
	seconds += part.float() * unit
	if neg && seconds != 0 { // never −0
		seconds = -seconds
	}
	resolution := unit * decimal{digits: "1", exp: 1 - len(fraction)}.float()
	return Quantity{Value: seconds, Unit: "s", Typed: "s", Resolution: resolution}, nil
}

// indexOf returns the place of the number after the first skip ones.
func (s *scanner) indexOf(skip int) int {
	for _, at := range number.FindAllStringIndex(string(s.runes), -1) {
		if skip == 0 {
			return len([]rune(string(s.runes)[:at[0]]))
		}
		skip--
	}
	return 0
}
