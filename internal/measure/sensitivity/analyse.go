package sensitivity

import (
	"context"
	"fmt"
	"math"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// work is one analysis on its way from raw data to figures.
type work struct {
	raw       measure.Raw
	set       setup
	points    []point
	fits      []fitted // plausible ones, the best first
	sharedOff bool     // one reading of the noise stands for several levels
	sources   sources
	out       measure.Analysis
}

// Analyse turns a run into its figures. See [measure.Measurement].
func (Measurement) Analyse(ctx context.Context, raw measure.Raw, progress func(float64)) (measure.Analysis, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	w, err := begin(raw)
	if err != nil {
		return measure.Analysis{}, err
	}
	heard, err := w.listen(ctx, progress)
	if err != nil {
		return measure.Analysis{}, err
	}
	if err := w.take(heard.points); err != nil {
		return measure.Analysis{}, err
	}
	w.out.Notes = append(w.out.Notes, raw.Notes...)
	w.curve()
	w.levels()
	if err := w.antenna(heard.antenna); err != nil {
		return measure.Analysis{}, err
	}
	w.bandwidth(heard)
	w.external()
	w.unsaid()
	if ctx.Err() != nil {
		return measure.Analysis{}, ctx.Err()
	}
	if len(w.out.Figures) == 0 {
		return measure.Analysis{}, w.nothing()
	}
	w.out.Sentences = w.sentences()
	w.out.Plots = w.plots()
	progress(1)
	return w.out, nil
}

// begin reads the options.
func begin(raw measure.Raw) (*work, error) {
	set, err := read(raw)
	if err != nil {
		return nil, err
	}
	w := &work{raw: raw, set: set}
	w.sources = newSources(raw, set)
	return w, nil
}

// take gathers the points of columns and recordings.
func (w *work) take(heard []point) error {
	typed, err := w.typedPoints()
	if err != nil {
		return err
	}
	w.points = append(typed, heard...)
	markShared(w.points)
	return nil
}

// readingKnown says that the uncertainty of the ratios is known beforehand: it
// was stated, or recordings give it.
func (w *work) readingKnown() bool {
	for _, p := range w.points {
		if p.row < 0 {
			return true
		}
	}
	return !math.IsNaN(w.set.readingU)
}

// curve fits the law, and sets aside readings that stand apart from it.
func (w *work) curve() {
	if len(w.points) == 0 {
		return
	}
	laws := candidates(w.set)
	w.fits = choose(laws, w.points, w.set.stepU, w.readingKnown())
	if !w.allNear() {
		w.points = w.setAside(laws, w.points)
		w.fits = choose(laws, w.points, w.set.stepU, w.readingKnown())
	}
	w.check()
}

// setAside takes out readings that stand far from a curve fitted without them:
// six of its standard deviations and more than 2 dB; at most a fifth of them.
func (w *work) setAside(laws []law, points []point) []point {
	left := append([]point(nil), points...)
	for range len(points) / 5 {
		worst, off := -1, 0.0
		var expected float64
		for i := range left {
			rest := append(append([]point(nil), left[:i]...), left[i+1:]...)
			if len(rest) < 5 {
				return left
			}
			fits := choose(laws, rest, w.set.stepU, w.readingKnown())
			if len(fits) == 0 {
				continue
			}
			at, u := fits[0].ratioAt(left[i].dBm)
			sigma := math.Hypot(u, math.Max(fits[0].scale, 1)*math.Hypot(left[i].u, w.set.stepU))
			if d := math.Abs(left[i].ratio - at); d > math.Max(2, 6*sigma) && d/sigma > off {
				worst, off, expected = i, d/sigma, at
			}
		}
		if worst < 0 {
			break
		}
		p := left[worst]
		w.out.SetAside = append(w.out.SetAside, measure.SetAside{Row: p.row, Value: p.ratio, Unit: "dB",
			Reason: fmt.Sprintf("at %s the other readings give %s: a slip of range or of the pen", told(p.dBm, "dBm"), told(expected, "dB"))})
		left = append(left[:worst], left[worst+1:]...)
	}
	return left
}

// allNear says that no reading can stand apart: the curve through all of them
// goes close by each.
func (w *work) allNear() bool {
	for _, p := range w.points {
		if len(w.fits) == 0 || math.Abs(p.ratio-w.fits[0].at(p.dBm, w.fits[0].params)) > 0.7 {
			return false
		}
	}
	return true
}

// nothing refuses a run that gives no figure.
func (w *work) nothing() error {
	r := &measure.Refusal{Row: -1, Expected: "input levels with the output with and without the signal (or SINAD), or the noise on antenna and dummy",
		Found:  "no reading that makes a pair",
		Advice: "say which column is which, for example --column 1=input:dBm --column 2=output_on:V --column 3=output_off:V"}
	if len(w.points) > 0 {
		r.Found, r.Expected, r.Advice = "readings that no curve goes through", "an output that rises with the input level", "check which column is which"
		return r
	}
	if len(w.raw.Recordings) > 0 {
		r.Found, r.Expected = "no recordings that make a pair", "at each level one with the signal and one without it, or one on antenna and one on dummy"
		r.Advice = "write on each what was set, for example on.wav@input=-107dBm,signal=on off.wav@signal=off"
		if len(w.out.Notes) > 0 {
			r.Found += " (" + strings.Join(w.out.Notes, "; ") + ")"
		}
	}
	return r
}

func (w *work) note(format string, args ...any) {
	w.out.Notes = append(w.out.Notes, fmt.Sprintf(format, args...))
}

func (w *work) warn(format string, args ...any) {
	w.out.Warnings = append(w.out.Warnings, fmt.Sprintf(format, args...))
}

// add adds a figure with the conditions of the run.
func (w *work) add(f run.Figure, more map[string]string) {
	f.Method = Method
	f.Conditions = w.conditions()
	for k, v := range more {
		f.Conditions[k] = v
	}
	w.out.Figures = append(w.out.Figures, f)
}

// conditions are those that every figure of the run holds under.
func (w *work) conditions() map[string]string {
	out := map[string]string{"mode": w.set.mode, "dummy": w.set.dummy.ID}
	about := Measurement{}.About()
	for _, name := range []string{"agc", "bfo", "filter", "limiter", "gain_control"} {
		if text := w.raw.Option(about, name); text != "" {
			out[name] = text
		}
	}
	if !math.IsNaN(w.set.dialHz) {
		out["dial_hz"] = plain(w.set.dialHz)
	}
	return out
}

// figure finds a figure given so far.
func (w *work) figure(id string) *run.Figure {
	for i := range w.out.Figures {
		if w.out.Figures[i].ID == id {
			return &w.out.Figures[i]
		}
	}
	return nil
}

// told prints a number that is only told: levels to a tenth, else three digits.
func told(x float64, unit string) string {
	if unit == "dB" || unit == "dBm" || unit == "dBµV" {
		return quantity.FormatNumber(math.Round(10*x)/10, unit)
	}
	return quantity.Printer{}.Told(x, unit, 3)
}
