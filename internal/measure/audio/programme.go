package audio

import (
	"context"
	"errors"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// programme sets a recording of the set's output against that of the programme.
func (w *work) programme(ctx context.Context, index int, rec measure.Recording, progress func(float64)) error {
	refs := w.raw.OfRole(roleReference)
	if len(refs) == 0 {
		return errors.New("found no recording of the programme itself, expected one")
	}
	pair := make([]whole, 2)
	for i, r := range []measure.Recording{refs[0], rec} {
		seen, err := w.look(ctx, r, nil)
		if err != nil {
			return fmt.Errorf("%s: %w", name(r), err)
		}
		pair[i] = whole{r, longest(signal.Stretches(r.Frames, seen.Gaps)), rec.RateHz}
	}
	progress(0.3)
	d, err := align(ctx, pair[0], pair[1])
	if err != nil {
		return err
	}
	progress(0.5)
	t, err := transfer(ctx, pair[0], pair[1], d, func(x float64) { progress(0.5 + 0.5*x) })
	if err != nil {
		return err
	}
	w.out.Stretches = append(w.out.Stretches, measure.Stretch{Recording: index, FromS: float64(pair[1].s.From) / rec.RateHz, ToS: float64(pair[1].s.To) / rec.RateHz, Label: "programme", Figures: []string{"audio_low", "audio_high", "incoherent_share"}})
	w.note("the programme arrives %s s later in the set's recording; its clock differs by %s parts in a million", short(d.Seconds), short(1e6*d.Skew))
	w.fidelity(t)
	return nil
}

// whole is the longest stretch of a recording without a gap.
type whole struct {
	rec measure.Recording
	s   signal.Stretch
	// toHz is the rate it is read at: that of the set's recording.
	toHz float64
}

func longest(all []signal.Stretch) signal.Stretch {
	best := signal.Stretch{}
	for _, s := range all {
		if s.To-s.From > best.To-best.From {
			best = s
		}
	}
	return best
}

// open opens the stretch.
func (p whole) open(ctx context.Context) (measure.SourceCloser, signal.Source, error) {
	src, err := p.rec.Open(ctx)
	if err != nil {
		return nil, nil, err
	}
	part, err := signal.Section(src, p.s.From, p.s.To)
	if err != nil {
		src.Close()
		return nil, nil, err
	}
	if p.toHz == p.rec.RateHz {
		return src, part, nil
	}
	if part, err = signal.Resample(part, p.toHz); err != nil {
		src.Close()
		return nil, nil, err
	}
	return src, part, nil
}

// both opens two stretches for one use.
func both(ctx context.Context, ref, set whole, use func(in, out signal.Source) error) error {
	c1, in, err := ref.open(ctx)
	if err != nil {
		return err
	}
	defer c1.Close()
	c2, out, err := set.open(ctx)
	if err != nil {
		return err
	}
	defer c2.Close()
	return use(in, out)
}

// align finds the delay between the stretches.
func align(ctx context.Context, ref, set whole) (d signal.Delay, err error) {
	err = both(ctx, ref, set, func(in, out signal.Source) (err error) {
		d, err = signal.FindDelay(ctx, in, out, signal.DelayOptions{})
		return err
	})
	return d, err
}

// transfer measures the transfer function over the same stretches.
func transfer(ctx context.Context, ref, set whole, d signal.Delay, progress func(float64)) (t *signal.Transfer, err error) {
	err = both(ctx, ref, set, func(in, out signal.Source) (err error) {
		t, err = signal.MeasureTransfer(ctx, in, out, signal.TransferOptions{Delay: d, Frames: set.s.To - set.s.From}, progress)
		return err
	})
	return t, err
}

// leastCoherence is how much of a band's output must follow the programme for
// its gain to count.
const leastCoherence = 0.2

// fidelity adds the response by the programme and what the set adds to it.
func (w *work) fidelity(t *signal.Transfer) {
	var points []point
	weak := 0
	from, to := w.band(t.RateHz)
	for _, hz := range bandCentres(w.set.refHz, from, to) {
		g, u, coherence := t.BandGain(hz*math.Pow(2, -1./12), hz*math.Pow(2, 1./12))
		if math.IsNaN(g) || coherence < leastCoherence {
			weak++
			continue
		}
		points = append(points, point{hz, 20 * math.Log10(g), 20 / math.Ln10 * u / g})
	}
	if weak > 0 {
		w.note("%s of the programme left out: too little of the output follows it there", plural(weak, "sixth of an octave", "sixths of an octave"))
	}
	if len(points) > 2 {
		w.responseFigures(points, "programme", "Response by the programme")
	}
	share, u := t.IncoherentShare(from, to)
	if math.IsNaN(share) {
		return
	}
	w.add(run.Figure{ID: "incoherent_share", Unit: "%", Outcome: quantity.Known(quantity.New(100*share, part(w.sources.noise, 100*u, 0))),
		Details: []run.Detail{run.Number("from", "Hz", from), run.Number("to", "Hz", to), run.Number("averages", "count", math.Round(t.Effective))}})
}

// band is the band that counts.
func (w *work) band(rate float64) (from, to float64) {
	if w.set.bandHz[1] > 0 {
		return w.set.bandHz[0], math.Min(w.set.bandHz[1], 0.45*rate)
	}
	return 20, 0.45 * rate
}

// bandCentres are sixths of an octave from the reference frequency both ways.
func bandCentres(ref, from, to float64) []float64 {
	var out []float64
	for k := -60; k <= 60; k++ {
		if hz := ref * math.Pow(2, float64(k)/6); hz >= math.Max(from, 30) && hz <= to {
			out = append(out, hz)
		}
	}
	return out
}
