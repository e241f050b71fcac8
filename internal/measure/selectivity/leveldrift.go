package selectivity

import (
	"math"

	"setwright/internal/measure"
)

// takeFloor takes the power of the output without a signal off every output.
// What is hardly above it is left out.
func (c *curve) takeFloor(set setting, out *levels) error {
	if set.floor == "" {
		return nil
	}
	x, err := measure.ParseNumber(set.floor, out.unit)
	if err != nil || math.IsNaN(x) || logarithmic(out.unit) > 0 && x <= 0 {
		return &measure.Refusal{Row: -1, Found: set.floor + " in the option \"floor\"", Expected: "an output in " + out.unit}
	}
	if factor := logarithmic(out.unit); factor > 0 {
		x = factor * math.Log10(x)
	}
	buried := 0
	for i, db := range out.db {
		if math.IsNaN(db) {
			continue
		}
		over := math.Pow(10, (db-x)/10)
		if over < 2 { // less than 3 dB above the floor
			out.db[i] = math.NaN()
			buried++
			continue
		}
		out.db[i] = db + 10*math.Log10(1-1/over)
		out.stepDB[i] *= over / (over - 1)
	}
	if buried > 0 {
		c.note("%s less than 3 dB above the output with the generator off left out", plural(buried, "reading", "readings"))
	}
	return nil
}

// levelDrift takes out a change of gain during the run that the returns to the
// reference point show.
func (c *curve) levelDrift(raw measure.Raw) {
	at, visits := c.reference(), 0
	when := c.times(raw)
	var t, y []float64
	lastRow := -2
	for i, p := range c.points {
		if p.Hz != at {
			continue
		}
		if p.Index > lastRow+1 {
			visits++
		}
		lastRow = p.Index
		t, y = append(t, when[i]), append(y, p.DB)
	}
	if visits < 2 {
		return
	}
	slope, middle, u := line(t, y)
	span := t[len(t)-1] - t[0]
	if moved := slope * span; math.Abs(moved) > 3*u*span && math.Abs(moved) > 2*c.stepDB {
		for i := range c.points {
			c.points[i].DB -= slope * (when[i] - middle)
		}
		c.note("the gain moved by %+.1f dB between the first and the last reading at the reference point; taken out as a straight line", moved)
		if math.Abs(moved) > 2 {
			c.warn("the gain moved by %+.1f dB during the run: let the set warm up longer", moved)
		}
	}
}

// reference is the frequency read most often.
func (c *curve) reference() float64 {
	count := map[float64]int{}
	best, at := 0, math.NaN()
	for _, p := range c.points {
		count[p.Hz]++
		if count[p.Hz] > best {
			best, at = count[p.Hz], p.Hz
		}
	}
	return at
}

// times are the times of the points, or their places in the run.
func (c *curve) times(raw measure.Raw) []float64 {
	col := raw.Series.Column("time")
	out := make([]float64, len(c.points))
	for i, p := range c.points {
		out[i] = float64(p.Index)
		if col != nil && math.IsNaN(col.Values[p.Index]) {
			col = nil
		}
	}
	if col != nil {
		for i, p := range c.points {
			out[i] = col.Values[p.Index]
		}
	}
	return out
}

// usualScatter is taken for readings too few to show their own, dB.
const usualScatter = 0.25

// line fits a straight line; u is the standard uncertainty of its slope.
func line(t, y []float64) (slope, middle, u float64) {
	n := float64(len(t))
	var mt, my, stt, sty, rest float64
	for i := range t {
		mt += t[i] / n
		my += y[i] / n
	}
	for i := range t {
		stt += (t[i] - mt) * (t[i] - mt)
		sty += (t[i] - mt) * (y[i] - my)
	}
	if stt == 0 {
		return 0, mt, math.Inf(1)
	}
	slope = sty / stt
	for i := range t {
		e := y[i] - my - slope*(t[i]-mt)
		rest += e * e
	}
	sd := usualScatter
	if n > 3 {
		sd = math.Max(math.Sqrt(rest/(n-2)), usualScatter/3)
	}
	return slope, mt, sd / math.Sqrt(stt)
}
