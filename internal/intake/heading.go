package intake

import (
	"bytes"
	"regexp"
	"strconv"
	"strings"
)

// heading is what stands over a column.
type heading struct {
	text string
	name string // in lower case, without the unit
	unit string // as written; "" where none is stated
}

var (
	inUnit      = regexp.MustCompile(`(?i)\bin\s+([\pL°%Ωµμ/.]+)`)
	columnNote  = regexp.MustCompile(`(?i)^\W*col(?:umn)?\.?\s*#?(\d+)\s*[:=]\s*(.+)$`)
	wideBlanks  = regexp.MustCompile(`\t+| {2,}`)
	startNote   = regexp.MustCompile(`(?i)\b(?:start(?:ed)?|begin|began|beginn|power[- ]?on|switch(?:ed)?[- ]on)\b\W*(.*)$`)
	quotedEdges = `"'` + "`"
)

// longestHeading cuts what is no heading at all.
const longestHeading = 200

// bareUnits are single letters that are headings of their own rather than units.
const bareUnits = "fFkKadmA"

// readHeading takes a heading apart: "Frequency (kHz)", "f/Hz", "Temp [°C]",
// "freq_hz", "drift in Hz", "kHz", "Time, s".
func readHeading(text string) heading {
	text = strings.ToValidUTF8(text[:min(len(text), longestHeading)], "")
	text = strings.Trim(strings.TrimSpace(text), quotedEdges)
	h := heading{text: text, name: strings.ToLower(text)}
	if i := strings.LastIndexAny(text, "([{"); i >= 0 {
		inside := strings.Trim(text[i:], "()[]{} ")
		if _, ok := lookUpUnit(inside, ""); ok && inside != "" {
			return h.with(text[:i], inside)
		}
		if m := inUnit.FindStringSubmatch(inside); m != nil {
			if _, ok := lookUpUnit(m[1], ""); ok {
				return h.with(text[:i], m[1])
			}
		}
	}
	if _, ok := lookUpUnit(text, ""); ok && (len(text) > 1 || !strings.Contains(bareUnits, text)) {
		return h.with(text, text)
	}
	if m := inUnit.FindStringSubmatchIndex(text); m != nil {
		if u := text[m[2]:m[3]]; u != "" {
			if _, ok := lookUpUnit(u, ""); ok {
				return h.with(text[:m[0]], u)
			}
		}
	}
	for _, mark := range []string{"/", ",", "_", " ", "-", "."} {
		i := strings.LastIndex(text, mark)
		if i <= 0 {
			continue
		}
		last := strings.TrimSpace(text[i+len(mark):])
		if _, ok := lookUpUnit(last, ""); ok && (len(last) > 1 || mark != " " || last == "s" || last == "V" || last == "%") {
			return h.with(text[:i], last)
		}
	}
	return h
}

func (h heading) with(name, unitName string) heading {
	h.name = strings.ToLower(strings.Trim(name, " _/,-:"))
	h.unit = unitName
	return h
}

// base is the base unit that the heading states; "" where it states none.
func (h heading) base() string {
	u, _ := lookUpUnit(h.unit, "")
	if h.unit == "" {
		return ""
	}
	return u.base
}

// headings finds what stands over the columns: a heading line above the first
// reading, perhaps with a line of units under it, else comment lines that name
// the columns.
func headings(rows []sampleRow, comments []sampleRow, t table, d *dialect, lay *Layout) []heading {
	out := make([]heading, d.columns)
	lay.Head = sure("none", "no line of words stands over the readings")
	if d.separator == SepNotes {
		return out
	}
	at := d.first - 1
	var units []string
	if at >= 0 {
		if u := unitsLine(headCells(rows[at], t.cells[at], d)); u != nil && len(u) <= d.columns {
			units = u
			lay.UnitsLine = rows[at].line
			at--
		}
	}
	if at >= 0 {
		if cells := headCells(rows[at], t.cells[at], d); len(cells) <= d.columns+20 && len(cells) > 0 && wordy(cells) {
			out = fill(out, fitDates(cells, t, d))
			lay.HeaderLine = rows[at].line
			lay.Head = sure("line "+itoa(rows[at].line), "it stands over the readings and holds words")
		}
	}
	if lay.HeaderLine == 0 {
		fromComments(out, comments, d, lay)
	}
	for j, u := range units {
		if u != "" {
			out[j].unit = u
			if out[j].text == "" {
				out[j].text = u
			}
		}
	}
	return out
}

// fill reads headings; a table may have more of them than columns of readings.
func fill(out []heading, cells []string) []heading {
	for j, c := range cells {
		if j < len(out) {
			out[j] = readHeading(c)
		}
	}
	return out
}

// headCells cuts a heading line. Where blanks part the columns they may also
// stand inside headings: then brackets stay with the word before them, or only
// wide blanks count.
func headCells(r sampleRow, cells [][]byte, d *dialect) []string {
	out := make([]string, 0, len(cells))
	for _, c := range cells {
		out = append(out, string(c))
	}
	if d.separator != SepSpace || r.raw == nil {
		return out
	}
	return blankHeads(string(trim(r.raw)), d.columns)
}

func blankHeads(line string, columns int) []string {
	words := strings.Fields(line)
	var joined []string
	for _, w := range words {
		if len(joined) > 0 && strings.ContainsAny(w[:1], "([") {
			joined[len(joined)-1] += " " + w
			continue
		}
		joined = append(joined, w)
	}
	if len(joined) == columns {
		return joined
	}
	if wide := wideBlanks.Split(line, -1); len(wide) == columns || len(wide) == columns-1 && len(wide) > 1 {
		return wide
	}
	return joined
}

// fitDates repeats the heading of a stamp that blanks cut into date and time.
func fitDates(cells []string, t table, d *dialect) []string {
	if len(cells) != d.columns-1 || d.separator != SepSpace {
		return cells
	}
	for j := 0; j+1 < d.columns; j++ {
		k := t.kinds[d.first]
		if k[j] == kindDate && (k[j+1] == kindColon3 || k[j+1] == kindColon2) {
			out := append([]string{}, cells[:j]...)
			out = append(out, "date")
			return append(out, cells[j:]...)
		}
	}
	return cells
}

// wordy says that a line is made of headings: no cell is a number.
func wordy(cells []string) bool {
	words := 0
	for _, c := range cells {
		switch classify([]byte(c), numFormat{decimal: '.'}) {
		case kindText:
			words++
		case kindNumber, kindStamp, kindColon3:
			return false
		}
	}
	return words > 0
}

// unitsLine reads a line that holds only units; nil if it does not.
func unitsLine(cells []string) []string {
	out := make([]string, len(cells))
	found := 0
	for i, c := range cells {
		c = strings.Trim(c, "()[] ")
		if c == "" || c == "-" {
			continue
		}
		if _, ok := lookUpUnit(c, ""); !ok {
			return nil
		}
		out[i] = c
		found++
	}
	if found == 0 {
		return nil
	}
	return out
}

// fromComments takes headings out of comment lines: "# column 0: frequency in
// Hz" for one column each, else the last comment with as many words as columns.
func fromComments(out []heading, comments []sampleRow, d *dialect, lay *Layout) {
	named, zeroBased := map[int]sampleRow{}, false
	for _, c := range comments {
		if m := columnNote.FindSubmatch(c.raw); m != nil {
			n, err := strconv.Atoi(string(m[1]))
			if err == nil && n <= maxColumns {
				named[n] = sampleRow{line: c.line, raw: m[2]}
				zeroBased = zeroBased || n == 0
			}
		}
	}
	for n, c := range named {
		if !zeroBased {
			n--
		}
		if n >= 0 && n < len(out) {
			out[n] = readHeading(string(c.raw))
			lay.Head = sure("comments", "comment lines say what the columns are")
		}
	}
	if len(named) > 0 {
		return
	}
	for i := len(comments) - 1; i >= 0; i-- {
		text := bytes.TrimLeft(trim(comments[i].raw), lay.Comment.Value+" \t")
		cells := headCells(sampleRow{raw: text}, newSplitter(d.separator).split(text), d)
		if len(cells) == d.columns && wordy(cells) && (d.columns > 1 || readHeading(cells[0]).unit != "") {
			fill(out, cells)
			lay.Head = unsure("line "+itoa(comments[i].line), "a comment line with as many words as there are columns")
			return
		}
	}
}
