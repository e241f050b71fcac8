package audio

import (
	"context"
	"math"
	"strconv"

	"setwright/internal/measure"
	"setwright/internal/measure/pool"
	"setwright/internal/measure/settings"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// hummed is the hum of one recording.
type hummed struct {
	index   int
	rec     measure.Recording
	hum     *signal.Hum
	inputDB float64
}

// hearHum takes a recording of the bare carrier apart.
func (w *work) hearHum(ctx context.Context, index int, rec measure.Recording, progress func(float64)) error {
	input, err := settings.Label(rec, recordings[2], "input")
	if err != nil {
		return err
	}
	seen, err := w.look(ctx, rec, func(x float64) { progress(x / 2) })
	if err != nil {
		return err
	}
	src, err := rec.Open(ctx)
	if err != nil {
		return err
	}
	defer src.Close()
	h, err := signal.FindHum(ctx, src, signal.HumOptions{LineHz: w.set.lineHz, Gaps: seen.Gaps, Frames: rec.Frames}, func(x float64) { progress((1 + x) / 2) })
	if err != nil {
		return err
	}
	w.hums = append(w.hums, hummed{index, rec, h, input})
	w.stretch(index, rec, seen, "bare carrier", "hum")
	return nil
}

// reference is the tone that stands for the reference output: at the reference
// frequency, best at the reference depth and at the input level given.
func (w *work) reference(inputDB float64) (heard, bool) {
	best, found, cost := heard{}, false, math.Inf(1)
	for _, h := range w.tones {
		if !w.isReference(h) {
			continue
		}
		c := math.Abs(math.Log(h.depth / w.set.depthPct))
		if !math.IsNaN(inputDB) && !math.IsNaN(h.inputDB) {
			if math.Abs(h.inputDB-inputDB) > 0.5 {
				continue
			}
		}
		if c < cost {
			best, found, cost = h, true, c
		}
	}
	return best, found
}

// humFigures adds the hum below the reference output: of the bare carrier where
// it was recorded, else of what stands beside the tone.
func (w *work) humFigures() {
	if len(w.hums) == 0 {
		if ref, ok := w.reference(math.NaN()); ok && ref.tone.Hum != nil {
			w.humFigure([]hummed{{ref.index, ref.rec, ref.tone.Hum, ref.inputDB}}, ref, "beside the tone")
		}
		return
	}
	ref, ok := w.reference(w.hums[0].inputDB)
	if !ok {
		w.note("hum is not given: found no tone of %s at the same input level, expected one at %s %% modulation to refer it to", hertz(w.set.refHz), short(w.set.depthPct))
		return
	}
	w.humFigure(w.hums, ref, "bare carrier")
}

func (w *work) humFigure(all []hummed, ref heard, taken string) {
	power, u := ref.tone.Power, ref.tone.PowerU
	if math.Abs(ref.depth/w.set.depthPct-1) > 0.02 {
		scale := sq(w.set.depthPct / ref.depth)
		power, u = power*scale, u*scale
		w.note("the output at %s %% modulation is reckoned from that at %s %%, as if the detector were linear", short(w.set.depthPct), short(ref.depth))
	}
	f := run.Figure{ID: "hum", Unit: "dB", Conditions: map[string]string{"taken": taken}}
	var known []pool.Observed
	bound := math.Inf(1)
	for _, h := range all {
		if h.hum.Power <= 0 {
			continue
		}
		x := 10 * math.Log10(power/h.hum.Power)
		if h.hum.Upper {
			bound = math.Min(bound, x)
			continue
		}
		known = append(known, pool.Observed{X: x, U: 10 / math.Ln10 * h.hum.PowerU / h.hum.Power})
	}
	switch {
	case len(known) > 0:
		v := w.pooled(known).With(quantity.Contribution{Source: quantity.RunSource(w.raw.RunID, "reference output").Source("reference output", 0), C: 10 / math.Ln10 * u / power})
		f.Outcome = quantity.Known(v)
	case !math.IsInf(bound, 1):
		f.Outcome = quantity.Above(quantity.Exact(bound))
		f.Details = append(f.Details, run.Text("why", "noise hides it"))
	default:
		return
	}
	f.Details = append(f.Details, run.Number("reference_level", "dBFS", 10*math.Log10(2*power)))
	f.Details = append(f.Details, humDetails(all[0].hum, power)...)
	w.add(f)
}

// humDetails lists the line frequency and its harmonics below the reference.
func humDetails(h *signal.Hum, power float64) []run.Detail {
	if h.LineHz == 0 {
		return nil
	}
	line := run.Number("line_frequency", "Hz", h.LineHz)
	u := h.LineU
	line.U = &u
	out := []run.Detail{line}
	for _, x := range h.Harmonics {
		if !x.InBand || x.Power <= 0 || x.Power < 2*x.PowerU {
			continue
		}
		d := run.Number("below", "dB", 10*math.Log10(power/x.Power))
		du := 10 / math.Ln10 * x.PowerU / x.Power
		d.U = &du
		out = append(out, run.Detail{ID: "harmonic_" + strconv.Itoa(x.N), Parts: []run.Detail{run.Number("frequency", "Hz", x.Hz), d}})
	}
	for _, b := range h.Blends {
		out = append(out, run.Text("not_told_apart", b))
	}
	return out
}
