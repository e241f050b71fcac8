package sensitivity

import (
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/noise"
	"setwright/quantity"
)

// needleU is one standard uncertainty in dB of an output read by eye, where
// nothing is known (common practice, no source).
const needleU = 0.25

// mostDBm is beyond any level of a generator, up or down: what lies farther is a
// slip of the unit.
const mostDBm = 300.0

// typedPoints makes points from the columns. Rows without a level or a reading
// are left out; what cannot be one is refused with its row.
func (w *work) typedPoints() ([]point, error) {
	in := w.raw.Series.Column("input")
	if in == nil {
		return nil, nil
	}
	var out []point
	for i := range in.Values {
		if math.IsNaN(in.Values[i]) {
			continue
		}
		l, err := w.set.reading(w.raw).Of(quantity.Exact(in.Values[i]), in.Unit)
		if err != nil {
			return nil, w.badLevel(i, in, err)
		}
		if dbm := l.DBm.Estimate(); !(math.Abs(dbm) <= mostDBm) {
			return nil, &measure.Refusal{Row: w.rawRow(i), Found: "an input level of " + quantity.FormatNumber(dbm, "dBm"), Expected: "one that a generator gives; is the unit right?"}
		}
		p, ok, err := w.ratio(i)
		if err != nil {
			return nil, err
		}
		if ok {
			p.dBm, p.row = l.DBm.Estimate()-w.set.padDB, w.rawRow(i)
			out = append(out, p)
		}
	}
	return out, nil
}

// badLevel says what is wrong with an input level, and what to do where only
// the word emf or pd is missing.
func (w *work) badLevel(i int, in *run.Column, err error) error {
	if w.set.volts == "" && in.Unit != "dBm" && (in.Unit != "V" || in.Values[i] > 0) {
		return &measure.Refusal{Row: w.rawRow(i), Found: "input levels in " + in.Unit + " that do not say which", Expected: "EMF or PD, for they are 6 dB apart",
			Advice: `say which the generator shows by the option "voltage is": emf (open circuit) or pd (across a matched load)`}
	}
	return &measure.Refusal{Row: w.rawRow(i), Found: err.Error(), Expected: "an input level in dBm, or above zero in V or dBµV"}
}

// ratio is the ratio of one row, with the uncertainty of its readings.
func (w *work) ratio(i int) (p point, ok bool, err error) {
	p.on, p.off = math.NaN(), math.NaN()
	if w.set.mode == modeSINAD && hasValues(w.raw, "sinad") {
		c := w.raw.Series.Column("sinad")
		p.ratio, p.u = c.Values[i], math.Hypot(math.Sqrt2*w.eyeU(), quantity.RectangularU(c.Resolution))
		return p, !math.IsNaN(p.ratio), nil
	}
	on, onU, err := w.output("output_on", i)
	if err != nil || math.IsNaN(on) {
		return p, false, err
	}
	off, offU, at, err := w.offOutput(i)
	if err != nil || math.IsNaN(off) {
		return p, false, err
	}
	p.on, p.off, p.ratio, p.u = on, off, on-off, math.Hypot(onU, offU)
	p.noise, p.commonU = at+1, offU
	if w.set.averaging {
		p.ratio = noise.OverNoiseOfAveraging(p.ratio)
	}
	return p, true, nil
}

// offOutput is the output without signal. In CW it does not depend on the
// level, so that one reading may stand for the rows below it. at is its row.
func (w *work) offOutput(i int) (dB, u float64, at int, err error) {
	for at = i; at >= 0; at-- {
		if dB, u, err = w.output("output_off", at); err != nil || !math.IsNaN(dB) || w.set.mode != modeCW {
			break
		}
		w.sharedOff = true
	}
	return dB, u, at, err
}

// eyeU is the uncertainty of one output reading.
func (w *work) eyeU() float64 {
	if !math.IsNaN(w.set.readingU) {
		return w.set.readingU
	}
	return needleU
}

// output is one cell of an output column as a level in dB with the uncertainty
// of reading it; NaN for an empty one.
func (w *work) output(role string, i int) (dB, u float64, err error) {
	c := w.raw.Series.Column(role)
	if c == nil || math.IsNaN(c.Values[i]) {
		return math.NaN(), 0, nil
	}
	x := c.Values[i]
	dB, step, ok := outputDB(x, c.Resolution, c.Unit)
	if !ok {
		return 0, 0, &measure.Refusal{Row: w.rawRow(i), Found: fmt.Sprintf("an output of %s", quantity.FormatNumber(x, c.Unit)), Expected: "more than zero, or a level in dB"}
	}
	return dB, math.Hypot(w.eyeU(), quantity.RectangularU(step)), nil
}

// outputDB turns an output into decibels, with the size of its last digit.
func outputDB(x, resolution float64, unit string) (dB, step float64, ok bool) {
	switch unit {
	case "V":
		return 20 * math.Log10(x), 20 / math.Ln10 * resolution / x, x > 0
	case "W":
		return 10 * math.Log10(x), 10 / math.Ln10 * resolution / x, x > 0
	}
	return x, resolution, !math.IsInf(x, 0)
}

// rawRow is the row of the unamended series.
func (w *work) rawRow(i int) int {
	if i >= 0 && i < len(w.raw.Rows) {
		return w.raw.Rows[i]
	}
	return i
}
