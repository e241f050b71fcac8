package audio

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"setwright/internal/measure"
	"setwright/internal/measure/pool"
	"setwright/internal/measure/settings"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// heard is one recording of a tone, taken apart.
type heard struct {
	index   int
	rec     measure.Recording
	tone    *signal.Tone
	scale   measure.SoundScale
	hz      float64 // as written, or found to a hundredth
	depth   float64 // %
	inputDB float64 // dBm, NaN where not written
	outputV float64 // by the meter, NaN where not written
}

// leastSINADdB is the SINAD below which a line in noise is not called a tone: a
// noise has lines of its own.
const leastSINADdB = 1.0

// hearTone takes a recording of a tone apart.
func (w *work) hearTone(ctx context.Context, index int, rec measure.Recording, progress func(float64)) error {
	spec := recordings[0]
	h := heard{index: index, rec: rec, scale: w.raw.SoundScale(rec.Started)}
	var err error
	for _, l := range []struct {
		name string
		to   *float64
	}{{"frequency", &h.hz}, {"modulation", &h.depth}, {"input", &h.inputDB}, {"output", &h.outputV}} {
		if *l.to, err = settings.Label(rec, spec, l.name); err != nil {
			return err
		}
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
	o := signal.ToneOptions{FromHz: w.set.bandHz[0], ToHz: w.set.bandHz[1], LineHz: w.set.lineHz, Gaps: seen.Gaps, Frames: rec.Frames}
	if h.hz > 0 {
		o.Hz = h.hz
	}
	if h.tone, err = signal.AnalyseTone(ctx, src, o, func(x float64) { progress((1 + x) / 2) }); err != nil {
		return err
	}
	if h.tone.SINADRadio < leastSINADdB {
		return fmt.Errorf("found nothing but noise in which the strongest line, at %.0f Hz, stands out by %.2f dB of SINAD; expected a tone of %g dB at least", h.tone.Hz, h.tone.SINADRadio, leastSINADdB)
	}
	if math.IsNaN(h.hz) {
		h.hz = twoDigits(h.tone.Hz)
	}
	for _, n := range h.tone.Notes {
		w.note("%s: %s", name(rec), n)
	}
	if h.tone.SwingDB > 1 {
		w.warn("%s: the level of the tone is not steady: was the set tuned right, and the signal?", name(rec))
	}
	if rec.Labels["modulation"] == "" {
		w.note("%s: the depth of modulation is not written on it and taken as %s %%", name(rec), plain(h.depth))
	}
	w.tones = append(w.tones, h)
	w.stretch(index, rec, seen, "tone", "thd", "sinad")
	return nil
}

// isReference says that a tone has the reference frequency, or nearly so.
func (w *work) isReference(h heard) bool { return math.Abs(h.tone.Hz/w.set.refHz-1) < 0.1 }

// key tells groups of tones made under the same conditions.
func (h heard) key() string {
	return fmt.Sprintf("%g/%g/%g/%g", twoDigits(h.hz), h.depth, h.inputDB, h.outputV)
}

// conditions are those of a figure of a tone.
func (h heard) conditions() map[string]string {
	c := map[string]string{"tone_hz": plain(twoDigits(h.hz)), "modulation_pct": plain(h.depth)}
	if !math.IsNaN(h.inputDB) {
		c["input_dbm"] = plain(h.inputDB)
	}
	if !math.IsNaN(h.outputV) {
		c["output_v"] = plain(h.outputV)
	}
	return c
}

// toneFigures adds what the recordings of tones give: the response where they
// are at several frequencies, distortion and SINAD of those at the reference
// frequency, or of all where none is.
func (w *work) toneFigures() {
	w.toneResponse()
	use := w.tones[:0:0]
	for _, h := range w.tones {
		if w.isReference(h) {
			use = append(use, h)
		}
	}
	if len(use) == 0 {
		use = w.tones
	}
	var best []run.Figure
	for _, group := range grouped(use) {
		w.thdFigures(group)
		best = append(best, w.sinadFigure(group))
	}
	w.sinadMax(best)
}

// grouped puts tones of the same conditions together, in order.
func grouped(all []heard) [][]heard {
	at := map[string]int{}
	var out [][]heard
	for _, h := range all {
		i, ok := at[h.key()]
		if !ok {
			i = len(out)
			at[h.key()] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], h)
	}
	return out
}

// toneResponse adds the response from the recordings of one depth and input
// level that are at most frequencies.
func (w *work) toneResponse() {
	sets := map[string][]point{}
	most := ""
	for _, h := range w.tones {
		k := fmt.Sprintf("%g/%g", h.depth, h.inputDB)
		sets[k] = append(sets[k], point{h.tone.Hz, h.tone.LevelDBFS, math.Hypot(h.tone.LevelU, depthU)})
		if len(sets[k]) > len(sets[most]) {
			most = k
		}
	}
	if r, _ := newResponse(sets[most], w.set.refHz); len(r.points) >= 3 {
		w.responseFigures(sets[most], "tones", "Response")
	}
}

// depthU is one standard uncertainty in dB of the depth of a generator at one
// modulation frequency against another: common practice, no source.
const depthU = 0.1

// thdFigures adds the three forms of distortion of repeats of one tone.
func (w *work) thdFigures(group []heard) {
	w.distortion(group, "thd", func(t *signal.Tone) (float64, float64) { return t.THD, t.THDU })
	w.distortion(group, "thd_total", func(t *signal.Tone) (float64, float64) { return t.THDTotal, t.THDTotalU })
	w.distortion(group, "thd_noise", func(t *signal.Tone) (float64, float64) { return t.THDNoise, t.THDNoiseU })
}

// distortion adds one form. Harmonics of the source and of the sound input add
// to the set's with a phase that nobody knows: where theirs are known they are a
// source of uncertainty (rms over all phases, 1/√2 of their size), and a bound
// where they could make up half of what is found; where they are not known, what
// is found is a bound for what the set makes.
func (w *work) distortion(group []heard, id string, of func(*signal.Tone) (float64, float64)) {
	var all []pool.Observed
	for _, h := range group {
		x, u := of(h.tone)
		all = append(all, pool.Observed{X: 100 * x, U: 100 * u})
	}
	v := w.pooled(all)
	f := run.Figure{ID: id, Unit: "%", Conditions: group[0].conditions()}
	own, known := group[0].scale.OwnDistortion()
	src := w.set.sourceTHD
	if id == "thd_noise" && math.IsNaN(src) {
		src, known = 0, true // what is not the tone is counted whatever its origin
	}
	switch {
	case math.IsNaN(src):
		f.Outcome = atMost(v)
		f.Details = append(f.Details, run.Text("why", "the distortion of the generator's modulation is not known, so the set's is not more than this"))
	default:
		v = v.With(part(w.sources.generator, 100*src/math.Sqrt2, 0))
		f.Details = append(f.Details, run.Number("source", "%", 100*src))
		if known {
			key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: "sound input", Quantity: "distortion"}
			if in, ok := w.raw.Setup.SoundInput(); ok {
				key.Of, key.Epoch = in.ID, in.Epoch
			}
			v = v.With(quantity.Contribution{Source: key.Source("distortion of the sound input", 0), C: 100 * own / math.Sqrt2})
		} else {
			w.note("the sound input's own distortion is not known: it is in the figure and not in its uncertainty; measure it by loop-back")
		}
		f.Outcome = quantity.Known(v)
		if v.Estimate() < resolvedU*v.U() {
			f.Outcome = atMost(v)
			f.Details = append(f.Details, run.Text("why", "no distortion stands out of the noise"))
		} else if id != "thd_noise" && 100*(src+own) > 0.5*v.Estimate() {
			f.Outcome = atMost(v.Shift(100 * (src + own)))
			f.Details = append(f.Details, run.Text("why", "the source alone could make up half of what is found"))
		}
	}
	f.Details = append(f.Details, harmonicDetails(group[0].tone)...)
	w.add(f)
}

// resolvedU is by how many standard uncertainties a distortion must stand above
// nothing to be called one.
const resolvedU = 2

// atMost is the bound on a distortion: what was found, or, where it does not
// stand out, the most that could have been missed (95 %).
func atMost(v quantity.Value) quantity.Outcome {
	if v.Estimate() < resolvedU*v.U() {
		return quantity.Below(quantity.Exact(v.Estimate() + resolvedU*v.U()))
	}
	return quantity.Below(v)
}

// harmonicDetails lists the harmonics in dB below the fundamental.
func harmonicDetails(t *signal.Tone) []run.Detail {
	var out []run.Detail
	for _, h := range t.Harmonics {
		if !h.InBand || h.Power <= 0 || h.Power < 2*h.PowerU {
			continue
		}
		d := run.Number("below", "dB", 10*math.Log10(t.Power/h.Power))
		u := 10 / math.Ln10 * math.Hypot(h.PowerU/h.Power, t.PowerU/t.Power)
		d.U = &u
		out = append(out, run.Detail{ID: "harmonic_" + strconv.Itoa(h.N), Parts: []run.Detail{run.Number("frequency", "Hz", h.Hz), d}})
	}
	return out
}

// sinadFigure adds the SINAD of repeats of one tone, by the radio convention;
// that of the converters stands in the details.
func (w *work) sinadFigure(group []heard) run.Figure {
	var all []pool.Observed
	for _, h := range group {
		all = append(all, pool.Observed{X: h.tone.SINADRadio, U: h.tone.SINADRadioU})
	}
	f := run.Figure{ID: "sinad", Unit: "dB", Outcome: quantity.Known(w.pooled(all)), Conditions: group[0].conditions(),
		Details: []run.Detail{run.Text("convention", "(S+N+D)/(N+D)"), run.Number("by_the_other_convention", "dB", group[0].tone.SINADConverter),
			run.Number("from", "Hz", group[0].tone.FromHz), run.Number("to", "Hz", group[0].tone.ToHz)}}
	w.floor(group[0])
	w.add(f)
	return f
}

// floor says where the sound input's own noise is much of what is left beside a
// tone.
func (w *work) floor(h heard) {
	density, known := h.scale.FloorDensity()
	if !known || h.tone.Residual <= 0 {
		return
	}
	const much = 0.1
	if share := density * (h.tone.ToHz - h.tone.FromHz) / h.tone.Residual; share > much {
		w.warn("%s: of what is left beside the tone the sound input's own noise makes up %s %%: turn its level up, or the SINAD is that of the sound input", name(h.rec), short(math.Round(100*math.Min(1, share))))
	}
}

// sinadMax adds the best SINAD over the input levels.
func (w *work) sinadMax(all []run.Figure) {
	best, levels := -1, map[string]bool{}
	for i, f := range all {
		in, ok := f.Conditions["input_dbm"]
		if !ok {
			continue
		}
		levels[in] = true
		if best < 0 || f.Value.Estimate() > all[best].Value.Estimate() {
			best = i
		}
	}
	if len(levels) < 2 {
		if len(all) > 0 {
			w.note("the best SINAD is not given: found %s, expected two at least, with the level written on each recording", plural(len(levels), "input level", "input levels"))
		}
		return
	}
	w.add(run.Figure{ID: "sinad_max", Unit: "dB", Outcome: all[best].Outcome,
		Details: []run.Detail{run.Text("at_input", all[best].Conditions["input_dbm"]+" dBm"), run.Number("levels", "count", float64(len(levels)))}})
}
