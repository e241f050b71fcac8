package measure

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"setwright/quantity"
)

// Fairness says whether two groups of runs were made under conditions that
// allow a comparison at all. Blocked means they were not, and no verdict may
// be given from them.
type Fairness struct {
	Blocked  bool
	Findings []FairFinding
	Table    []FairRow
}

// FairFinding is one thing to know before any number.
type FairFinding struct {
	Name   string
	Blocks bool
	Text   string
}

// FairRow shows one condition of both sides, as recorded.
type FairRow struct {
	Title string
	A, B  string
	Alike string // "alike", "unlike", "not known", "by ..." another condition
}

// CheckFair compares the conditions of two groups of runs as the measurement's
// Fair list demands. twoSets says that the groups are of two sets, whose
// controls need not be marked alike.
func CheckFair(about About, a, b []Raw, twoSets bool) Fairness {
	var f Fairness
	for _, spec := range about.Fair {
		checkOne(&f, about, spec, a, b, twoSets && spec.OfSet)
	}
	for _, x := range f.Findings {
		f.Blocked = f.Blocked || x.Blocks
	}
	return f
}

// checkOne adds the row and the findings of one condition. ownWords says that
// each side names it in its own way.
func checkOne(f *Fairness, about About, spec FairSpec, a, b []Raw, ownWords bool) {
	ca, cb := gather(about, spec, a), gather(about, spec, b)
	row := FairRow{Title: spec.Title, A: ca.show(spec), B: cb.show(spec), Alike: "alike"}
	add := func(blocks bool, format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		if spec.Why != "" {
			text += " " + spec.Why
		}
		f.Findings = append(f.Findings, FairFinding{Name: spec.Name, Blocks: blocks, Text: text})
	}
	if missing := ca.missing + cb.missing; missing > 0 {
		row.Alike = "not known"
		add(false, "%s is not recorded for %d of %d runs, so nobody can check that it was alike.", Capital(spec.Title), missing, len(a)+len(b))
	}
	checkLeast(spec, &row, append(ca.below(spec.Advised), cb.below(spec.Advised)...), add)
	if ownWords {
		checkOwnWords(about, spec, &row, [2]recorded{ca, cb}, [2][]Raw{a, b}, add)
	} else {
		checkAlike(spec, &row, ca, cb, add)
	}
	f.Table = append(f.Table, row)
}

// checkLeast reports runs below the number needed. low is what is below the
// advised one.
func checkLeast(spec FairSpec, row *FairRow, low []float64, add func(bool, string, ...any)) {
	if len(low) == 0 {
		return
	}
	sort.Float64s(low)
	row.Alike = "unlike"
	add(low[0] < spec.Least, "%s was only %s in %s; at least %s is advised.",
		Capital(spec.Title), showNumber(low[0], spec.Unit), countRuns(len(low)), showNumber(spec.Advised, spec.Unit))
}

// checkAlike reports sides that differ by more than is alike.
func checkAlike(spec FairSpec, row *FairRow, a, b recorded, add func(bool, string, ...any)) {
	differ, blocks := unlike(spec, a, b)
	if !differ {
		return
	}
	row.Alike = "unlike"
	add(blocks, "%s differs: %s on side A, %s on side B.", Capital(spec.Title), row.A, row.B)
}

// checkOwnWords tells of words that differ between two sets, and by what else
// they are compared. Within each side they must be alike.
func checkOwnWords(about About, spec FairSpec, row *FairRow, said [2]recorded, runs [2][]Raw, add func(bool, string, ...any)) {
	for i, side := range []string{"A", "B"} {
		if len(said[i].words) > 1 {
			row.Alike = "unlike"
			add(true, "%s differs within side %s: %s.", Capital(spec.Title), side, strings.Join(said[i].words, ", "))
			return
		}
	}
	if len(said[0].words) == 0 || len(said[1].words) == 0 || said[0].words[0] == said[1].words[0] {
		return
	}
	row.Alike = "not known"
	by, ok := about.fair(spec.By)
	switch {
	case !ok:
		add(false, "%s is %q on side A and %q on side B: two sets mark their controls differently, so whether that is alike is for you to judge.", Capital(spec.Title), row.A, row.B)
	case len(gather(about, by, runs[0]).numbers) == 0 || len(gather(about, by, runs[1]).numbers) == 0:
		add(false, "%s is %q on side A and %q on side B, and %s is not recorded on both, by which two sets could be compared.", Capital(spec.Title), row.A, row.B, by.Title)
	default:
		row.Alike = "by " + by.Title
	}
}

// fair is the condition of a name.
func (a About) fair(name string) (FairSpec, bool) {
	for _, f := range a.Fair {
		if f.Name == name && f.Unit != "" {
			return f, true
		}
	}
	return FairSpec{}, false
}

func countRuns(n int) string {
	if n == 1 {
		return "one run"
	}
	return fmt.Sprintf("%d runs", n)
}

// recorded is what a side's runs say about one condition.
type recorded struct {
	words   []string // distinct, sorted
	numbers []float64
	missing int
}

// gather reads one condition from a group of runs.
func gather(about About, spec FairSpec, runs []Raw) recorded {
	var r recorded
	seen := make(map[string]bool)
	for _, raw := range runs {
		text := raw.Circumstance(about, spec)
		if text == "" {
			r.missing++
			continue
		}
		if spec.Unit == "" {
			if !seen[text] {
				seen[text] = true
				r.words = append(r.words, text)
			}
			continue
		}
		x, err := ParseNumber(text, spec.Unit)
		if err != nil {
			r.missing++
			continue
		}
		r.numbers = append(r.numbers, x)
	}
	sort.Strings(r.words)
	sort.Float64s(r.numbers)
	return r
}

// Circumstance returns the text of a condition of a run: the option of that
// name, else the median of a column of that role, else "".
func (r Raw) Circumstance(about About, spec FairSpec) string {
	if v := r.Option(about, spec.Name); v != "" {
		return v
	}
	c := r.Series.Column(spec.Name)
	if c == nil {
		return ""
	}
	var known []float64
	for _, v := range c.Values {
		if !math.IsNaN(v) {
			known = append(known, v)
		}
	}
	if len(known) == 0 {
		return ""
	}
	sort.Float64s(known)
	return fmt.Sprintf("%g %s", known[len(known)/2], spec.Unit)
}

// below returns the numbers less than least; none where least is 0.
func (r recorded) below(least float64) []float64 {
	if least == 0 {
		return nil
	}
	return r.numbers[:sort.SearchFloat64s(r.numbers, least)]
}

// show prints what is recorded: words, or the range of the numbers.
func (r recorded) show(spec FairSpec) string {
	switch {
	case len(r.words) > 0:
		return strings.Join(r.words, ", ")
	case len(r.numbers) == 0:
		return "not recorded"
	}
	lo, hi := r.numbers[0], r.numbers[len(r.numbers)-1]
	if lo == hi {
		return showNumber(lo, spec.Unit)
	}
	return showNumber(lo, spec.Unit) + " to " + showNumber(hi, spec.Unit)
}

// unlike says whether the sides differ by more than the tolerance, and whether
// by so much that they cannot be compared.
func unlike(spec FairSpec, a, b recorded) (differ, blocks bool) {
	if spec.Unit == "" {
		all := append(append([]string(nil), a.words...), b.words...)
		for _, w := range all {
			if w != all[0] {
				return true, true
			}
		}
		return false, false
	}
	if len(a.numbers) == 0 || len(b.numbers) == 0 {
		return false, false
	}
	ma, mb := middle(a.numbers), middle(b.numbers)
	d := math.Abs(ma - mb)
	if spec.Relative {
		d /= math.Max(math.Abs(ma), math.Abs(mb))
	}
	return spec.Tolerance > 0 && d > spec.Tolerance, spec.Limit > 0 && d > spec.Limit
}

// middle returns the median of sorted numbers.
func middle(sorted []float64) float64 {
	n := len(sorted)
	if n%2 == 1 {
		return sorted[n/2]
	}
	return (sorted[n/2-1] + sorted[n/2]) / 2
}

func showNumber(x float64, unit string) string {
	return quantity.FormatNumber(x, unit)
}
