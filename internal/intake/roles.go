package intake

import (
	"slices"
	"strings"
)

// assigner gives the columns their roles.
type assigner struct {
	lay    *Layout
	ev     []evidence
	wanted []ColumnSpec
	over   Override
	taken  []bool
}

func (a *assigner) run() {
	a.taken = make([]bool, len(a.ev))
	for j := range a.ev {
		a.lay.Columns = append(a.lay.Columns, Column{Number: j + 1, Header: a.ev[j].heading.text, Sample: a.ev[j].sample,
			Role: sure(RoleIgnore, "nothing asks for it")})
		if c, ok := a.over.Columns[j+1]; ok && c.Role != "" {
			a.lay.Columns[j].Role = given(c.Role)
			a.taken[j] = true
		}
	}
	for _, s := range a.wanted {
		if s.ID != RoleTime {
			continue
		}
		if c := a.lay.Column(RoleTime); c == nil {
			a.findTime(s)
		} else if a.lay.Column(RoleDate) == nil {
			a.findDate(c.Number - 1)
		}
	}
	a.findByHeading()
	a.findByContent()
	for j := range a.lay.Columns {
		a.findUnit(&a.lay.Columns[j], &a.ev[j])
	}
}

// set gives a column a role.
func (a *assigner) set(j int, role Guess) {
	a.lay.Columns[j].Role = role
	a.taken[j] = true
}

// findTime looks for the time column, and for a date column beside a clock.
func (a *assigner) findTime(spec ColumnSpec) {
	best, at := 0.0, -1
	var why Guess
	for j := range a.ev {
		if a.taken[j] {
			continue
		}
		if score, g := a.timeScore(&a.ev[j], spec); score > best {
			best, at, why = score, j, g
		}
	}
	if at < 0 {
		return
	}
	a.set(at, why)
	a.findDate(at)
}

// timeScore grades a column as the time column.
func (a *assigner) timeScore(e *evidence, spec ColumnSpec) (float64, Guess) {
	named := headerScore(e.heading.name, spec.Aliases)
	switch {
	case e.mostly(kindStamp):
		return 6 + float64(named), sure(RoleTime, "it holds dates with times")
	case e.mostly(kindColon2, kindColon3, kindWords, kindStamp):
		return 5 + float64(named), sure(RoleTime, "it holds times")
	case e.mostly(kindDate):
		return 1, sure(RoleTime, "it holds dates")
	case !e.numeric() || (e.heading.base() != "" && e.heading.base() != "s") || (e.cellBase() != "" && e.cellBase() != "s"):
		return 0, Guess{}
	case named == 3 || e.heading.base() == "s" && e.heading.unit != "":
		return 4, sure(RoleTime, "its heading says so")
	case named == 2:
		return 3, sure(RoleTime, "its heading says so")
	case headerScore(e.heading.name, indexAliases) > 0:
		return 0.3, unsure(RoleTime, "it numbers the readings and nothing else gives a time")
	case e.heading.text == "" && e.upwards() && a.others(e) && !a.named(e):
		return 1 + 1/float64(2+len(a.ev)), unsure(RoleTime, "it runs upwards and stands before other numbers")
	}
	return 0, Guess{}
}

// named says that a heading fits one of the columns wanted other than time.
func (a *assigner) named(e *evidence) bool {
	for _, s := range a.wanted {
		if s.ID != RoleTime && headerScore(e.heading.name, s.Aliases) > 0 {
			return true
		}
	}
	return false
}

// others says that there are further columns of numbers.
func (a *assigner) others(e *evidence) bool {
	for j := range a.ev {
		if o := &a.ev[j]; o != e && !a.taken[j] && o.numeric() {
			return true
		}
	}
	return false
}

// findDate finds the date column of a clock column.
func (a *assigner) findDate(clock int) {
	if !a.ev[clock].mostly(kindColon2, kindColon3) {
		return
	}
	for _, j := range []int{clock - 1, clock + 1} {
		if j >= 0 && j < len(a.ev) && !a.taken[j] && a.ev[j].mostly(kindDate, kindStamp) {
			a.set(j, sure(RoleDate, "it holds the dates of the times beside it"))
			return
		}
	}
}

// findByHeading gives columns to the specs that their headings or units name,
// the best fit first.
func (a *assigner) findByHeading() {
	for grade := 5; grade >= 1; grade-- {
		for _, s := range a.wanted {
			if s.ID == RoleTime || a.lay.Column(s.ID) != nil {
				continue
			}
			for j := range a.ev {
				if a.taken[j] || a.fit(&a.ev[j], s) != grade {
					continue
				}
				role := sure(s.ID, "its heading says so")
				if grade <= 2 {
					role.Why = "its unit fits " + s.Title
				}
				if rivals := a.rivals(j, s, grade); rivals != "" {
					role = unsure(s.ID, role.Why+", but so does that of column "+rivals)
				}
				a.set(j, role)
				break
			}
		}
	}
}

// fit grades a column for a spec: 5 heading and unit, 4 heading, 3 word of the
// heading, 2 or 1 unit alone, 0 not at all.
func (a *assigner) fit(e *evidence, s ColumnSpec) int {
	if !e.numeric() && e.filled > 0 { // one that is empty so far may be filled further down
		return 0
	}
	base := e.heading.base()
	if base == "" {
		base = e.cellBase()
	}
	unitFits := base != "" && slices.Contains(s.Units, base)
	if base != "" && !unitFits {
		return 0
	}
	switch named := headerScore(e.heading.name, s.Aliases); {
	case named == 3 && unitFits:
		return 5
	case named == 3:
		return 4
	case named == 2:
		return 3
	case e.filled == 0:
		return 0
	case unitFits && s.Required:
		return 2
	case unitFits:
		return 1
	}
	return 0
}

// rivals are the columns free that fit a spec as well as column j does.
func (a *assigner) rivals(j int, s ColumnSpec, grade int) string {
	var out []string
	for k := range a.ev {
		if k != j && !a.taken[k] && a.fit(&a.ev[k], s) == grade {
			out = append(out, itoa(k+1))
		}
	}
	return strings.Join(out, ", ")
}

// findByContent gives the columns that are left to the required specs that are
// left: the steadiest one to a steady spec, else the next.
func (a *assigner) findByContent() {
	for _, s := range a.wanted {
		if !s.Required || s.ID == RoleTime || a.lay.Column(s.ID) != nil {
			continue
		}
		best := -1
		for j := range a.ev {
			e := &a.ev[j]
			if base := e.heading.base(); a.taken[j] || !e.numeric() || base != "" && !slices.Contains(s.Units, base) {
				continue
			}
			if best < 0 || s.Steady && e.spread() < a.ev[best].spread()/10 {
				best = j
			}
		}
		if best < 0 {
			continue
		}
		why := "it is the first column of numbers left"
		if free := a.free(); free == 1 {
			why = "it is the only column of numbers left"
		}
		a.set(best, unsure(s.ID, why))
	}
}

func (a *assigner) free() int {
	n := 0
	for j := range a.ev {
		if !a.taken[j] && a.ev[j].numeric() {
			n++
		}
	}
	return n
}
