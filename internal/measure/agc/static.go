package agc

import (
	"fmt"
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// reading is one pair of input and output that takes part.
type reading struct {
	x, y float64 // dBm, dB
	row  int     // of the series
}

// static is the static part of a run: the readings that take part, the curve
// through them and how well one reading is known.
type static struct {
	readings []reading
	curve    curve
	sigma    float64 // standard deviation of one reading, dB
	dof      float64 // of sigma, 0: taken as known
	sigmaBy  string  // where sigma comes from, in words
}

// takeReadings turns the columns into levels. Rows with a missing cell are left
// out; what cannot be a level is refused with its row.
func takeReadings(raw measure.Raw, src source) ([]reading, error) {
	in, out := raw.Series.Column("input"), raw.Series.Column("output")
	if in == nil || out == nil {
		return nil, nil
	}
	var list []reading
	for i := range in.Values {
		if i >= len(out.Values) || math.IsNaN(in.Values[i]) || math.IsNaN(out.Values[i]) {
			continue
		}
		x, err := src.dBm(in.Values[i], in.Unit)
		if err != nil && !src.saysWhich(in.Values[i], in.Unit) {
			return nil, &measure.Refusal{Row: rawRow(raw, i), Found: "input levels in " + in.Unit + " that do not say which", Expected: "EMF or PD, for they are 6 dB apart",
				Advice: `say which the generator shows by the option "voltage is": emf (open circuit) or pd (across a matched load)`}
		}
		if err != nil {
			return nil, &measure.Refusal{Row: rawRow(raw, i), Found: err.Error() + " as input level", Expected: "a level above zero in dBm, dBµV or V"}
		}
		y, err := outputDB(out.Values[i], out.Unit)
		if err != nil {
			return nil, &measure.Refusal{Row: rawRow(raw, i), Found: err.Error() + " as output", Expected: "an output above zero in dB, V, W or dBFS"}
		}
		if math.IsInf(x, 0) || math.IsInf(y, 0) {
			return nil, &measure.Refusal{Row: rawRow(raw, i), Found: "a level without end", Expected: "finite readings"}
		}
		list = append(list, reading{x, y, rawRow(raw, i)})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].x < list[j].x })
	return list, nil
}

// rawRow is the row of the unamended series.
func rawRow(raw measure.Raw, i int) int {
	if i < len(raw.Rows) {
		return raw.Rows[i]
	}
	return i
}

// leastLevels is how few levels of input make a curve.
const leastLevels = 3

// static fits the curve, if there are readings.
func (w *work) static() error {
	list, err := takeReadings(w.raw, w.set.source)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return nil
	}
	w.st = &static{}
	w.st.readings = w.setAside(list)
	x, y := columnsOf(w.st.readings)
	w.st.curve = fitCurve(x, y)
	if n := len(w.st.curve.x); n < leastLevels {
		w.st = nil
		if len(w.raw.Recordings) > 0 {
			w.note("no static figures: found %s of input, expected %d at least", plural(n, "level", "levels"), leastLevels)
			return nil
		}
		return &measure.Refusal{Row: -1, Found: plural(n, "level", "levels") + " of input", Expected: fmt.Sprintf("%d at least", leastLevels),
			Advice: "step the generator by 10 dB from below the noise to the strongest it gives"}
	}
	w.st.sigma, w.st.dof, w.st.sigmaBy = w.readingU(x, y)
	return nil
}

func columnsOf(list []reading) (x, y []float64) {
	for _, r := range list {
		x, y = append(x, r.x), append(y, r.y)
	}
	return x, y
}

// setAside takes out readings that stand out of a rising curve on one side of
// both their neighbours by more than a needle can be misread: 2 dB, or six
// times the scatter.
func (w *work) setAside(list []reading) []reading {
	const least = 2.0
	x, y := columnsOf(list)
	g := groups(x, y)
	limit := math.Max(least, 6*scatter(g))
	out := list[:0:0]
	for _, r := range list {
		i := levelOf(g, r.x)
		if i > 0 && i < len(g)-1 {
			lo, hi := g[i-1].median(), g[i+1].median()
			if lo <= hi+least && (r.y > math.Max(lo, hi)+limit || r.y < math.Min(lo, hi)-limit) {
				w.out.SetAside = append(w.out.SetAside, measure.SetAside{Row: r.row, Value: r.y, Unit: "dB",
					Reason: fmt.Sprintf("the levels on both sides give %s and %s dB: a slip of range or of the pen", short(lo), short(hi))})
				continue
			}
		}
		out = append(out, r)
	}
	return out
}

// levelOf is the group of an input level.
func levelOf(g []group, x float64) int {
	i := sort.Search(len(g), func(i int) bool { return g[i].x > x })
	return max(0, i-1)
}

// scatter is the standard deviation of repeats within their levels, 0 where
// there are none.
func scatter(g []group) float64 {
	s, _ := pooled(g)
	return s
}

// pooled is the standard deviation of repeated readings and its degrees of
// freedom.
func pooled(g []group) (sd, dof float64) {
	sum, n := 0.0, 0
	for _, level := range g {
		if len(level.y) < 2 {
			continue
		}
		m := 0.0
		for _, v := range level.y {
			m += v
		}
		m /= float64(len(level.y))
		for _, v := range level.y {
			sum += (v - m) * (v - m)
		}
		n += len(level.y) - 1
	}
	if n == 0 {
		return 0, 0
	}
	return math.Sqrt(sum / float64(n)), float64(n)
}

// assumedReadingU is one standard uncertainty of a needle read by eye on a
// decibel scale: common practice, no source.
const assumedReadingU = 0.25

// readingU is the standard deviation of one output reading: as stated, from
// repeats, from the scatter round a dense curve, or as of a needle.
func (w *work) readingU(x, y []float64) (sigma, dof float64, by string) {
	last := 0.0
	if c := w.raw.Series.Column("output"); c != nil && c.Resolution > 0 && (c.Unit != "V" && c.Unit != "W") {
		last = c.Resolution / math.Sqrt(12)
	}
	if !math.IsNaN(w.set.readingU) {
		return math.Max(w.set.readingU, last), 0, "as stated"
	}
	if sd, dof := pooled(groups(x, y)); dof >= 3 {
		return math.Max(sd, math.Max(last, 0.02)), dof, "from repeated readings"
	}
	if sd, dof := w.denseScatter(x, y); dof >= 6 {
		return math.Max(sd, math.Max(last, 0.02)), dof, "from the scatter of the readings about the curve"
	}
	w.note("the uncertainty of one output reading is taken as %s dB, as of a needle read by eye: repeat some levels, or state it", short(assumedReadingU))
	return math.Max(assumedReadingU, last), 0, "assumed, as of a needle read by eye"
}

// denseScatter is the standard deviation of readings that stand closer than
// 2.5 dB on both sides about the line through their neighbours: on so short a
// piece the curve is straight.
func (w *work) denseScatter(x, y []float64) (sd, dof float64) {
	sum, n := 0.0, 0
	for i := 1; i+1 < len(x); i++ {
		a, b := x[i]-x[i-1], x[i+1]-x[i]
		if a > 2.5 || b > 2.5 || a+b == 0 {
			continue
		}
		q := a / (a + b)
		r := y[i] - (y[i-1]*(1-q) + y[i+1]*q)
		sum += r * r / (1 + q*q + (1-q)*(1-q))
		n++
	}
	if n == 0 {
		return 0, 0
	}
	return math.Sqrt(sum / float64(n)), 0.6 * float64(n) // neighbours share readings
}

// falls is how far the readings fall, at most, from a lower level to a higher
// one, and from where.
func (s *static) falls() (by, fromX, toX float64) {
	x, y := columnsOf(s.readings)
	g := groups(x, y)
	top, at := math.Inf(-1), 0.0
	for _, level := range g {
		m := level.median()
		if m > top {
			top, at = m, level.x
		}
		if top-m > by {
			by, fromX, toX = top-m, at, level.x
		}
	}
	return by, fromX, toX
}

func detail(d []run.Detail, id, unit string, x float64) []run.Detail {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return d
	}
	return append(d, run.Number(id, unit, x))
}
