package sensitivity

import (
	"context"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/soundcheck"
	"setwright/noise"
	"setwright/signal"
	"setwright/superhet"
)

// heard is what recordings gave.
type heard struct {
	points          []point
	antenna         []pair
	widthHz, widthU float64
	widthFrom       string
}

// take is one recording as an output.
type take struct {
	index  int     // in the run's recordings
	dBm    float64 // at the input, less the pad; NaN where not written
	signal string
	dB, u  float64 // mean output power re full scale²
}

// leastS is the shortest recording that is taken, seconds; stepS the windows
// whose scatter says how well its level is known.
const (
	leastS = 2.0
	stepS  = 0.25
)

// listen turns the recordings of the run into points.
func (w *work) listen(ctx context.Context, progress func(float64)) (heard, error) {
	var h heard
	var takes []take
	for i, rec := range w.raw.Recordings {
		if rec.Role != "output" {
			continue
		}
		part := func(x float64) { progress((float64(i) + x) / float64(len(w.raw.Recordings))) }
		t, ok, err := w.hear(ctx, i, rec, &h, part)
		if err != nil {
			return h, err
		}
		if ok {
			takes = append(takes, t)
		}
	}
	h.points = append(h.points, w.pairUp(takes)...)
	h.antenna = antennaPairs(takes)
	return h, w.widthOf(ctx, takes, &h)
}

// hear measures one recording. In SINAD it gives a point at once.
func (w *work) hear(ctx context.Context, i int, rec measure.Recording, h *heard, progress func(float64)) (t take, ok bool, err error) {
	t = take{index: i, dBm: math.NaN(), signal: rec.Label(recordings[0], "signal")}
	if text := rec.Label(recordings[0], "input"); text != "" {
		l, err := superhet.ParseLevel(text, withUnit(w.set.reading(w.raw)))
		if err != nil {
			return t, false, &measure.Refusal{Row: -1, Found: fmt.Sprintf("the input level %q on the recording %s", text, rec.Name), Expected: "something like -107 dBm or 2 µV emf"}
		}
		t.dBm = l.DBm.Estimate() - w.set.padDB
	}
	if rec.DurationS() < leastS {
		w.note("%s is left out: %.1f s is too short for a level of noise, ten seconds are better", rec.Name, rec.DurationS())
		return t, false, nil
	}
	sound, err := w.sound(ctx, rec, progress)
	if err != nil || !sound {
		return t, false, err
	}
	if w.set.mode == modeSINAD && withSignal(t.signal) {
		p, ok, err := w.sinad(ctx, rec, t)
		if ok {
			h.points = append(h.points, p)
		}
		return t, false, err
	}
	t.dB, t.u, err = w.power(ctx, rec)
	if ctx.Err() != nil {
		return t, false, ctx.Err()
	}
	if err != nil || math.IsInf(t.dB, 0) {
		w.note("%s is left out: %s", rec.Name, orSilent(err))
		return t, false, nil
	}
	return t, true, nil
}

func orSilent(err error) string {
	if err != nil {
		return err.Error()
	}
	return "it is silent"
}

// isLevel checks the text of an input level; whether volts are EMF or PD an
// option can say too.
func isLevel(text string) error {
	if _, err := superhet.ParseLevel(text, superhet.Reading{Unit: "dBm", Volts: superhet.EMF}); err != nil {
		return fmt.Errorf("found %q, expected a level as in -107 dBm or 2 µV emf", text)
	}
	return nil
}

// withUnit takes a bare number for dBm.
func withUnit(r superhet.Reading) superhet.Reading {
	r.Unit = "dBm"
	return r
}

// withSignal says that the signal was on, or modulated.
func withSignal(label string) bool { return label == "on" || label == "modulated" }

// withoutSignal says that it was off, or unmodulated.
func withoutSignal(label string) bool { return label == "off" || label == "unmodulated" }

// sound looks for what spoils a recording as a measure of level; false leaves it
// out.
func (w *work) sound(ctx context.Context, rec measure.Recording, progress func(float64)) (bool, error) {
	seen, err := soundcheck.Look(ctx, rec, progress)
	switch {
	case ctx.Err() != nil:
		return false, ctx.Err()
	case err != nil:
		w.note("%s is left out: %v", rec.Name, err)
		return false, nil
	case len(seen.Full) > 0:
		w.note("%s is left out: it is clipped at full scale, the first time at %.2f s, so that its level is too low; turn the sound input down", rec.Name, float64(seen.Full[0].Frame)/rec.RateHz)
		return false, nil
	}
	if seen.AutoGain != "" {
		w.warn("%s: %s; levels of one recording against another mean nothing while the gain of the sound input changes by itself: turn it off", rec.Name, seen.AutoGain)
	}
	for _, n := range seen.Notes {
		w.note("%s", n)
	}
	return true, nil
}

// audioBand is the band that outputs are taken from.
func (w *work) audioBand(rec measure.Recording) [2]float64 {
	if w.set.band[1] > 0 {
		return [2]float64{w.set.band[0], math.Min(w.set.band[1], 0.45*rec.RateHz)}
	}
	return [2]float64{20, 0.45 * rec.RateHz}
}

// power is the mean power of a recording in dB with its standard uncertainty, by
// the scatter of its parts. What the sound input adds of its own is taken off
// where it was measured.
func (w *work) power(ctx context.Context, rec measure.Recording) (dB, u float64, err error) {
	src, err := rec.Open(ctx)
	if err != nil {
		return 0, 0, err
	}
	defer src.Close()
	band := w.audioBand(rec)
	track, err := signal.TrackLevel(ctx, src, signal.LevelTrackOptions{StepS: stepS, Band: band, Gaps: rec.Gaps(), Frames: rec.Frames}, nil)
	if err != nil {
		return 0, 0, err
	}
	mean, ofMean := meanOf(track.Power)
	scale := w.raw.SoundScale(rec.Started)
	if density, known := scale.FloorDensity(); known {
		own := density * (band[1] - band[0])
		if own > 0.2*mean {
			w.warn("%s: the noise of the sound input is %s of what it holds; turn the volume of the set up", rec.Name, told(100*math.Min(own/mean, 1), "%"))
		}
		mean = math.Max(mean-own, 0)
	}
	return noise.DB(mean), 10 / math.Ln10 * ofMean / mean, nil
}

// meanOf is the mean of parts with its standard uncertainty.
func meanOf(x []float64) (mean, u float64) {
	n := float64(len(x))
	for _, v := range x {
		mean += v / n
	}
	var ss float64
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	if n < 2 {
		return mean, mean
	}
	return mean, math.Sqrt(ss / (n - 1) / n)
}

// stretch says that figures came from a recording.
func (w *work) stretch(index int, label string) {
	var ids []string
	for _, t := range targets(w.set.mode) {
		ids = append(ids, t.id)
	}
	w.out.Stretches = append(w.out.Stretches, measure.Stretch{Recording: index, ToS: w.raw.Recordings[index].DurationS(), Label: label, Figures: ids})
}
