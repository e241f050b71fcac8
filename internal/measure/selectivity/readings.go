package selectivity

import (
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/selectivity/passband"
	"setwright/internal/run"
	"setwright/quantity"
)

// curve is the response as it was read, before any fit.
type curve struct {
	points   []passband.Point // in the order read; Index is the row
	method   string
	offsets  bool    // frequencies are offsets
	nominal  float64 // NaN where not known
	assumed  bool    // the nominal is the set's, not the run's
	levelU   float64 // standard uncertainty of the decibels as a fraction
	levelOf  string  // what brings it: "input", "output"
	stepDB   float64 // of the level, largest
	stepHz   float64
	known    bool // the scatter is known
	cut      bool // known: the points reach from end to end of the audio band
	notes    []string
	warnings []string
	mirrored bool                    // side of the passband not known
	bfoHz    float64                 // where the BFO stood, from the nominal
	rate     []quantity.Contribution // what the sample rate brings to one hertz
}

func (c *curve) note(format string, args ...any) {
	c.notes = append(c.notes, fmt.Sprintf(format, args...))
}

func (c *curve) warn(format string, args ...any) {
	c.warnings = append(c.warnings, fmt.Sprintf(format, args...))
}

// readPoints takes the response from the columns of a run.
func readPoints(raw measure.Raw, set setting) (*curve, error) {
	c := &curve{nominal: set.nominalHz}
	f, err := c.frequencies(raw)
	if err != nil {
		return nil, err
	}
	in, err := levelsOf(raw, "input")
	if err != nil {
		return nil, err
	}
	out, err := levelsOf(raw, "output")
	if err != nil {
		return nil, err
	}
	if in == nil && out == nil {
		return nil, &measure.Refusal{Row: -1, Found: "no column of levels", Expected: "the input level needed for a constant output, or the output",
			Advice: "say which column is which, for example --column 2=input:dBm"}
	}
	if out != nil {
		if err := c.takeFloor(set, out); err != nil {
			return nil, err
		}
	}
	if err := c.nameMethod(set, in, out); err != nil {
		return nil, err
	}
	c.combine(f, in, out, set)
	if err := c.enough(); err != nil {
		return nil, err
	}
	c.levelDrift(raw)
	c.findNominal(raw)
	return c, nil
}

// frequencies returns the column of frequencies or of offsets.
func (c *curve) frequencies(raw measure.Raw) (*run.Column, error) {
	f := raw.Series.Column("frequency")
	if f == nil {
		f = raw.Series.Column("offset")
		c.offsets = f != nil
	}
	if f == nil {
		return nil, &measure.Refusal{Row: -1, Found: "no column of frequencies", Expected: "the generator's frequency or its offset",
			Advice: "say which column it is, for example --column 1=frequency:kHz"}
	}
	if c.offsets && math.IsNaN(c.nominal) {
		c.nominal = 0
	}
	c.stepHz = f.Resolution
	for _, in := range raw.Setup.Instruments {
		if in.Reads == f.Role {
			c.stepHz = math.Max(c.stepHz, in.Resolution)
		}
	}
	return f, nil
}

// levels is a column in decibels.
type levels struct {
	role       string
	db, stepDB []float64 // NaN where a cell is missing
	unit       string
	resolution float64
}

// levelsOf reads a column of levels; volts become dB. It is nil where the
// column holds nothing.
func levelsOf(raw measure.Raw, role string) (*levels, error) {
	col := raw.Series.Column(role)
	if col == nil {
		return nil, nil
	}
	l := &levels{role: role, unit: col.Unit, resolution: col.Resolution}
	for _, in := range raw.Setup.Instruments {
		if in.Reads == role {
			l.resolution = math.Max(l.resolution, in.Resolution)
		}
	}
	some := false
	for i, x := range col.Values {
		if math.IsInf(x, 0) {
			return nil, &measure.Refusal{Row: rowOf(raw, i), Found: fmt.Sprintf("%g as %s", x, role), Expected: "a finite number"}
		}
		db, step := x, l.resolution
		if factor := logarithmic(col.Unit); factor > 0 && !math.IsNaN(x) {
			if x <= 0 {
				return nil, &measure.Refusal{Row: rowOf(raw, i), Found: fmt.Sprintf("%g %s as %s", x, col.Unit, role), Expected: "more than zero",
					Advice: "a reading of nothing is no reading: strike it out"}
			}
			db, step = factor*math.Log10(x), factor/math.Ln10*l.resolution/x
		}
		some = some || !math.IsNaN(x)
		l.db, l.stepDB = append(l.db, db), append(l.stepDB, step)
	}
	if !some {
		return nil, nil
	}
	return l, nil
}

// logarithmic is by what the decimal logarithm of a unit makes decibels, 0 where
// the unit is a level already.
func logarithmic(unit string) float64 {
	switch unit {
	case "V":
		return 20
	case "W":
		return 10
	}
	return 0
}

func rowOf(raw measure.Raw, i int) int {
	if i >= 0 && i < len(raw.Rows) {
		return raw.Rows[i]
	}
	return i
}

// span is the largest less the smallest level, 0 for none.
func (l *levels) span() float64 {
	if l == nil {
		return 0
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, x := range l.db {
		if !math.IsNaN(x) {
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	return hi - lo
}

// still is how little a level moves that was held, dB.
const still = 1.0

// nameMethod finds which level was held, and refuses what would deceive.
func (c *curve) nameMethod(set setting, in, out *levels) error {
	moved := out.span() >= still
	switch {
	case in != nil && in.span() >= still && !moved:
		c.method = methodOutput
	case moved && in.span() < still:
		c.method = methodInput
	case moved:
		c.method = methodInput
		c.note("both levels were moved: the response is the output less the input")
	default:
		return &measure.Refusal{Row: -1, Found: fmt.Sprintf("levels within %g dB of each other", still), Expected: "a curve",
			Advice: "step the generator to both sides until the output has fallen by 60 dB"}
	}
	if set.method == methodOutput && c.method == methodInput {
		return &measure.Refusal{Row: -1, Found: fmt.Sprintf("an output that moves by %.1f dB", out.span()), Expected: "one held constant, as the option \"method\" says"}
	}
	if set.method == methodInput && c.method == methodOutput {
		return &measure.Refusal{Row: -1, Found: "no output that moves", Expected: "readings of the output, as the option \"method\" says"}
	}
	if c.method == methodOutput {
		c.levelU, c.levelOf = set.attenuator, "input"
		if set.agc == "on" {
			c.note("AGC was on: with the output held constant it stays where it is, but the stages before it may overload far off tune")
		}
		return nil
	}
	return c.underAGC(set, out)
}

// underAGC looks at readings of the output, which AGC and the detector's law
// act on.
func (c *curve) underAGC(set setting, out *levels) error {
	if set.agc == "on" {
		return &measure.Refusal{Row: -1, Found: "outputs read with AGC on", Expected: "AGC off",
			Advice: "AGC holds the output up and makes the passband look wider than it is: turn it off, or hold the output constant with the generator"}
	}
	c.levelU, c.levelOf = set.detectorU, "output"
	law := "linear"
	if set.square {
		law = "square"
	}
	c.note("the detector is taken as %s within %.0f %% of the decibels: holding the output constant does not need to know", law, 100*set.detectorU)
	if set.agc == "" {
		c.warn("whether AGC was off is not said: if it worked, the passband is narrower than it looks here")
	}
	if out.span() > 45 {
		c.warn("outputs over %.0f dB are more than most detectors follow: hold the output constant for the skirts", out.span())
	}
	return nil
}

// combine makes the points: output as the detector had it, less input.
func (c *curve) combine(f *run.Column, in, out *levels, set setting) {
	law := 1.0
	if set.square {
		law = 0.5
	}
	missing := 0
	for i, hz := range f.Values {
		p := passband.Point{Hz: hz, UHz: c.stepHz / math.Sqrt(12), Index: i}
		var step float64
		if out != nil {
			p.DB += law * out.db[i]
			step = law * out.stepDB[i]
		}
		if in != nil {
			p.DB -= in.db[i]
			step = math.Hypot(step, in.stepDB[i])
		}
		if math.IsNaN(p.Hz) || math.IsNaN(p.DB) || math.IsInf(p.Hz, 0) {
			missing++
			continue
		}
		p.UdB = step / math.Sqrt(12)
		c.stepDB = math.Max(c.stepDB, step)
		c.points = append(c.points, p)
	}
	if missing > 0 {
		c.note("%s without frequency or level left out", plural(missing, "reading", "readings"))
	}
}

// enough refuses points that make no curve.
func (c *curve) enough() error {
	seen := map[float64]bool{}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range c.points {
		seen[p.Hz] = true
		lo, hi = math.Min(lo, p.DB), math.Max(hi, p.DB)
	}
	switch {
	case len(seen) < passband.LeastPoints:
		return &measure.Refusal{Row: -1, Found: plural(len(seen), "frequency", "frequencies"), Expected: fmt.Sprintf("%d at least", passband.LeastPoints),
			Advice: "fifteen to twenty-five show a passband well: close together where it bends, wider apart on the skirts"}
	case hi-lo < still:
		return &measure.Refusal{Row: -1, Found: fmt.Sprintf("responses within %.1f dB of each other", hi-lo), Expected: "a curve that falls by 6 dB at least to both sides"}
	}
	return nil
}

// findNominal takes the set's own intermediate frequency where the run says
// none and the curve lies there.
func (c *curve) findNominal(raw measure.Raw) {
	if !math.IsNaN(c.nominal) || raw.IFHz <= 0 || len(c.points) == 0 {
		return
	}
	if f := c.points[0].Hz; math.Abs(f-raw.IFHz) < 0.1*raw.IFHz {
		c.nominal, c.assumed = raw.IFHz, true
	}
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "one " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
