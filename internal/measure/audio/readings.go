package audio

import (
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// reading is one row that takes part; NaN for what is not there.
type reading struct {
	hz, output, distortion float64
	row                    int
}

// readings adds the response from readings of output against frequency, and
// keeps those with distortion for the power.
func (w *work) readings() error {
	list, unit, err := w.takeReadings()
	if err != nil || len(list) == 0 {
		return err
	}
	var points []point
	for _, r := range list {
		if math.IsNaN(r.hz) || !math.IsNaN(r.distortion) {
			continue
		}
		dB, err := outputDB(r.output, unit)
		if err != nil {
			return &measure.Refusal{Row: r.row, Found: err.Error(), Expected: "an output above zero"}
		}
		points = append(points, point{r.hz, dB, w.set.readingU})
	}
	if len(points) > 0 {
		w.responseFigures(points, "tones", "Response")
	}
	return nil
}

// takeReadings reads the columns.
func (w *work) takeReadings() (list []reading, unit string, err error) {
	out := w.raw.Series.Column("output")
	if out == nil {
		return nil, "", nil
	}
	cell := func(c *run.Column, i int) float64 {
		if c == nil || i >= len(c.Values) {
			return math.NaN()
		}
		return c.Values[i]
	}
	f, d := w.raw.Series.Column("frequency"), w.raw.Series.Column("distortion")
	for i, v := range out.Values {
		r := reading{cell(f, i), v, cell(d, i), i}
		if i < len(w.raw.Rows) {
			r.row = w.raw.Rows[i]
		}
		if math.IsNaN(v) {
			continue
		}
		if r.hz <= 0 || math.IsInf(r.hz, 0) || math.IsInf(v, 0) {
			return nil, "", &measure.Refusal{Row: r.row, Found: fmt.Sprintf("a modulation frequency of %g Hz and an output of %g", r.hz, v), Expected: "finite numbers, the frequency above zero"}
		}
		if r.distortion < 0 || r.distortion > 2 {
			return nil, "", &measure.Refusal{Row: r.row, Found: fmt.Sprintf("a distortion of %g %%", 100*r.distortion), Expected: "per cents from 0 to 100; is the unit right?"}
		}
		list = append(list, r)
	}
	return list, out.Unit, nil
}

// outputDB is an output in dB against some fixed reference.
func outputDB(x float64, unit string) (float64, error) {
	switch unit {
	case "dB", "dBV", "dBFS", "dBm":
		return x, nil
	case "V", "W":
		if x <= 0 {
			return 0, fmt.Errorf("an output of %g %s", x, unit)
		}
		if unit == "V" {
			return 20 * math.Log10(x), nil
		}
		return 10 * math.Log10(x), nil
	}
	return 0, fmt.Errorf("an output in %q", unit)
}

// watts is an output as power in the load; ok is false where that cannot be
// told.
func (w *work) watts(x float64, unit string) (float64, bool) {
	switch {
	case unit == "W":
		return x, x > 0
	case unit == "V" && w.set.loadOhm > 0:
		return x * x / w.set.loadOhm, x > 0
	case unit == "dBV" && w.set.loadOhm > 0:
		return math.Pow(10, x/10) / w.set.loadOhm, true
	}
	return 0, false
}
