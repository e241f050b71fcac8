package selectivity

import (
	"fmt"
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/internal/measure/selectivity/passband"
	"setwright/internal/run"
	"setwright/quantity"
)

// Next says where to set the generator next: the middle first, then outwards
// until the response has fallen by 60 dB on both sides, then between readings
// where the curve bends, with returns to the middle that show whether the
// gain moved.
func (Measurement) Next(raw measure.Raw) measure.Step {
	set, err := read(raw)
	c := &curve{nominal: set.nominalHz}
	if err == nil {
		c = soFar(raw, set)
	}
	if len(c.points) == 0 {
		return measure.Step{
			ID: "signal", Number: 1, Column: "input", Unit: "dBm", Caution: cautions[2].Text,
			Do:  "AGC off. Set the generator to the middle of the passband, where the output is largest, at a level well below limiting; note the output, and type frequency and level. From here on hold that output by the generator's level.",
			Why: "A constant output asks nothing of the detector's law or of the gain control.",
		}
	}
	p := c.plan()
	step := measure.Step{
		ID: "read", Number: len(c.points) + 1, Column: columnOf(c), Quality: p.quality(),
		Do:  fmt.Sprintf("Set the generator to %s, bring the output back to the mark and type the level.", printHz(p.next, c.offsets)),
		Why: p.why,
	}
	if columnOf(c) == "output" {
		step.Do = fmt.Sprintf("Set the generator to %s, leave its level, and type the output.", printHz(p.next, c.offsets))
	}
	if p.done {
		step.ID, step.Done, step.Do, step.Column = "done", true, "Enough. Finish the run.", ""
	}
	return step
}

// soFar takes what readings there are, however few.
func soFar(raw measure.Raw, set setting) *curve {
	c := &curve{nominal: set.nominalHz}
	f, err := c.frequencies(raw)
	in, errIn := levelsOf(raw, "input")
	out, errOut := levelsOf(raw, "output")
	if err != nil || errIn != nil || errOut != nil || in == nil && out == nil {
		return c
	}
	c.method = methodOutput
	if out.span() >= still || in == nil {
		c.method = methodInput
	}
	c.combine(f, in, out, set)
	return c
}

func columnOf(c *curve) string {
	if c.method == methodInput {
		return "output"
	}
	return "input"
}

func printHz(hz float64, offset bool) string {
	text := quantity.FormatNumber(hz, "Hz")
	if offset && hz > 0 {
		return "+" + text
	}
	return text
}

// plan is what the next reading should be.
type plan struct {
	next  float64
	why   string
	done  bool
	n     int
	depth [2]float64 // how far down each side has been followed
}

func (p plan) quality() string {
	return fmt.Sprintf("%s; followed down to %.0f dB below and %.0f dB above the middle", plural(p.n, "reading", "readings"), p.depth[0], p.depth[1])
}

// The plan: how far down to follow, how far apart readings may lie near the top
// and on the skirts, and after how many to return to the reference.
const (
	followDB, nearTopDB    = 62, 12
	mostTopDB, mostSkirtDB = 4, 14
	returnAfter, plenty    = 8, 40
)

// plan finds the next frequency.
func (c *curve) plan() plan {
	p := plan{n: len(c.points)}
	sorted := merged(c.points)
	best := 0
	for i := range sorted {
		if sorted[i].DB > sorted[best].DB {
			best = i
		}
	}
	top := sorted[best]
	first, last := sorted[0], sorted[len(sorted)-1]
	p.depth = [2]float64{top.DB - first.DB, top.DB - last.DB}
	reference := c.points[0].Hz
	if since := c.sinceReference(reference); since >= returnAfter {
		p.next, p.why = reference, "Back to the first frequency: it shows whether the gain has moved meanwhile."
		return p
	}
	if p.n < plenty {
		if next, why, ok := c.outwards(sorted, top, p.depth); ok {
			p.next, p.why = next, why
			return p
		}
		if next, ok := between(sorted, top.DB); ok {
			p.next, p.why = next, "The curve moves far between the readings on either side of it."
			return p
		}
	}
	if c.sinceReference(reference) > 0 {
		p.next, p.why = reference, "Once more the first frequency, to see whether the gain has moved."
		return p
	}
	p.next, p.done, p.why = reference, true, "Both skirts are followed and no gap is wide."
	return p
}

// sinceReference counts the readings since the reference was last read.
func (c *curve) sinceReference(hz float64) int {
	for i := len(c.points) - 1; i >= 0; i-- {
		if c.points[i].Hz == hz {
			return len(c.points) - 1 - i
		}
	}
	return len(c.points)
}

// outwards goes on along the side that was followed less far.
func (c *curve) outwards(sorted []passband.Point, top passband.Point, depth [2]float64) (next float64, why string, ok bool) {
	side, end := -1.0, sorted[0]
	if depth[1] < depth[0] {
		side, end = 1, sorted[len(sorted)-1]
	}
	if math.Min(depth[0], depth[1]) >= followDB {
		return 0, "", false
	}
	away := math.Abs(end.Hz - top.Hz)
	switch {
	case away == 0 && len(sorted) == 1:
		away = firstStep
	case away == 0:
		away = math.Abs(sorted[len(sorted)-1].Hz-sorted[0].Hz) / 2
	case math.Min(depth[0], depth[1]) < 3:
		away *= 1.6
	default:
		away *= 1.35
	}
	return roundHz(top.Hz + side*away), "The response must be followed until it has fallen by 60 dB.", true
}

// firstStep is a first step off the middle, Hz: about a sixth of the usual width
// of an IF strip (common practice, no source).
const firstStep = 1000.0

// roundHz keeps what can be set by hand: ten hertz.
func roundHz(hz float64) float64 { return math.Round(hz/10) * 10 }

// between finds the widest jump of the response that wants a reading within.
func between(sorted []passband.Point, top float64) (float64, bool) {
	worst, at := 1.0, math.NaN()
	for i := 1; i < len(sorted); i++ {
		a, b := sorted[i-1], sorted[i]
		most := float64(mostSkirtDB)
		if top-math.Max(a.DB, b.DB) < nearTopDB {
			most = mostTopDB
		}
		if jump := math.Abs(b.DB-a.DB) / most; jump > worst && b.Hz-a.Hz >= 40 {
			worst, at = jump, roundHz((a.Hz+b.Hz)/2)
		}
	}
	return at, !math.IsNaN(at)
}

// merged sorts the points and keeps the last of each frequency.
func merged(points []passband.Point) []passband.Point {
	sorted := append([]passband.Point(nil), points...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].Hz < sorted[j].Hz })
	var out []passband.Point
	for _, p := range sorted {
		if n := len(out); n > 0 && out[n-1].Hz == p.Hz {
			out[n-1] = p
			continue
		}
		out = append(out, p)
	}
	return out
}

// Card is the printed bench card.
func (Measurement) Card(run.Setup) measure.Card {
	return measure.Card{
		Before: []measure.CardLine{
			{Label: "Set, serial", Fact: measure.FactSet}, {Label: "State", Fact: measure.FactState},
			{Label: "Date", Fact: measure.FactDay}, {Label: "By", Fact: measure.FactOperator},
			{Label: "Selectivity setting", Option: "filter"}, {Label: "Signal went in at (if, signal)", Option: "where"},
			{Label: "AGC (off, on)", Option: "agc"}, {Label: "Noise limiter (off, on)", Option: "limiter"},
			{Label: "Nominal frequency, with unit", Unit: "kHz", Option: "nominal"}, {Label: "Dial set to, with unit", Option: "dial"},
			{Label: "Generator", Fact: measure.FactInstrument},
		},
		Steps: []measure.Step{
			{Do: "Let the set warm up for half an hour. AGC, noise limiter and BFO off; gain set so that nothing limits.", Caution: cautions[0].Text},
			{Do: "Set the generator to the middle of the passband. Note the output: this is the mark.", Caution: cautions[2].Text},
			{Do: "Step the generator to one side. Each time bring the output back to the mark by the generator's level; write frequency and level."},
			{Do: "Close together where the curve bends, wider apart on the skirts, down to 60 dB more than in the middle. Then the other side."},
			{Do: "After every eight readings go back to the middle and write it again: it shows whether the gain moved."},
			{Do: "Round a notch, step as finely as the generator allows."},
		},
		Columns: []measure.ColumnSpec{columns[0], columns[2]}, Rows: 38,
	}
}
