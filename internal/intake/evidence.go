package intake

import (
	"maps"
	"math"
	"slices"
)

// evidence is what the sample shows of one column.
type evidence struct {
	heading  heading
	counts   [kinds]int
	filled   int
	values   []float64 // numbers and quantities as typed, without units
	decimals int
	units    map[string]int // units in cells
	sample   []string
	cells    [][]byte // filled cells
}

// gather collects the evidence on each column from the rows of readings.
func gather(t table, first int, heads []heading, f numFormat) []evidence {
	out := make([]evidence, len(heads))
	for j := range out {
		out[j] = evidence{heading: heads[j], units: map[string]int{}}
	}
	for i := max(first, 0); i < len(t.cells); i++ {
		for j, c := range t.cells[i] {
			if j < len(out) && hasReading(t.kinds[i]) {
				out[j].see(c, t.kinds[i][j], f)
			}
		}
	}
	return out
}

func (e *evidence) see(cell []byte, k kind, f numFormat) {
	e.counts[k]++
	if len(e.sample) < 5 {
		e.sample = append(e.sample, string(cell))
	}
	if k == kindBlank {
		return
	}
	e.filled++
	e.cells = append(e.cells, cell)
	if k != kindNumber && k != kindQuantity {
		return
	}
	n, took := scanNumber(cell, f, 0)
	e.decimals = max(e.decimals, n.decimals)
	if took > 0 {
		e.values = append(e.values, n.value)
	}
	if k == kindQuantity {
		e.units[string(trim(cell[took:]))]++
	}
}

func (e *evidence) mostly(ks ...kind) bool {
	n := 0
	for _, k := range ks {
		n += e.counts[k]
	}
	return n*2 > e.filled && e.filled > 0
}

func (e *evidence) numeric() bool { return e.mostly(kindNumber, kindQuantity) }

// upwards says that the values never fall and do rise.
func (e *evidence) upwards() bool {
	for i := 1; i < len(e.values); i++ {
		if e.values[i] < e.values[i-1] {
			return false
		}
	}
	return len(e.values) > 0 && (len(e.values) == 1 || e.values[len(e.values)-1] > e.values[0])
}

// spread is the range of the values over their largest size: near 0 for a steady
// column.
func (e *evidence) spread() float64 {
	if len(e.values) == 0 {
		return math.Inf(1)
	}
	lo, hi := slices.Min(e.values), slices.Max(e.values)
	size := math.Max(math.Abs(lo), math.Abs(hi))
	if size == 0 {
		return math.Inf(1)
	}
	return (hi - lo) / size
}

// cellBase is the base unit that the cells themselves state.
func (e *evidence) cellBase() string {
	for _, name := range slices.Sorted(maps.Keys(e.units)) {
		if u, ok := lookUpUnit(name, ""); ok {
			return u.base
		}
	}
	return ""
}
