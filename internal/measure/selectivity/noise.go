package selectivity

import (
	"context"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/selectivity/passband"
	"setwright/signal"
)

// groups is into how many points a spectrum of noise is gathered.
const groups = 160

// leastNoiseS is the shortest recording of noise that is taken, seconds.
const leastNoiseS = 5

// fromNoise takes the response from the noise that comes through the passband.
func (w *work) fromNoise(ctx context.Context, recordings []measure.Recording, progress func(float64)) (*curve, error) {
	if err := w.refuseDetection(); err != nil {
		return nil, err
	}
	rec, floor, err := pick(recordings)
	if err != nil {
		return nil, err
	}
	c := &curve{method: methodNoise, known: true, nominal: w.set.nominalHz}
	gaps, err := c.listen(ctx, *rec, func(x float64) { progress(0.3 * x) })
	if err != nil {
		return nil, err
	}
	noise, err := welch(ctx, *rec, gaps, 0, func(x float64) { progress(0.3 + 0.3*x) })
	if err != nil {
		return nil, err
	}
	var under *signal.Spectrum
	if floor != nil {
		if floor.RateHz != rec.RateHz {
			return nil, &measure.Refusal{Row: -1, Found: fmt.Sprintf("a floor recorded at %g samples a second and noise at %g", floor.RateHz, rec.RateHz), Expected: "the same rate"}
		}
		if under, err = welch(ctx, *floor, floor.Gaps(), noise.Segment, nil); err != nil {
			return nil, err
		}
	}
	scale := w.raw.SoundScale(rec.Started)
	c.notes = append(append(c.notes, noise.Left...), scale.Notes()...)
	c.warnings = append(c.warnings, scale.Warnings()...)
	if err := c.gather(noise, under, w.set); err != nil {
		return nil, err
	}
	c.soundInput(scale)
	c.place(w.set)
	w.stretch(*rec)
	return c, nil
}

// refuseDetection says why noise does not show the passband, where it does not.
func (w *work) refuseDetection() error {
	switch w.set.detection {
	case "am":
		return &measure.Refusal{Row: -1, Found: "noise through the AM detector", Expected: "BFO or product detector on, or the IF itself",
			Advice: "a diode beats every part of the noise with every other, so its output does not have the shape of the passband: record again with the BFO on, well to one side"}
	case "":
		return &measure.Refusal{Row: -1, Found: "a recording of noise that does not say how it was detected", Expected: "the option \"detection\": bfo or if",
			Advice: "noise through the AM detector does not show the passband"}
	}
	if w.set.agc == "on" {
		w.out.Notes = append(w.out.Notes, "AGC was on: noise holds it still, so that it does not bend the curve")
	}
	return nil
}

// pick returns the recording of the passband and that of the floor.
func pick(recordings []measure.Recording) (noise, floor *measure.Recording, err error) {
	for i := range recordings {
		into := &noise
		if recordings[i].Label(Measurement{}.About().Recordings[0], "part") == partFloor {
			into = &floor
		}
		if *into != nil {
			return nil, nil, &measure.Refusal{Row: -1, Found: "two recordings of the same part, " + (*into).Name + " and " + recordings[i].Name,
				Expected: "one of the passband and at most one of the floor", Advice: "label each with its part, or make two runs of them"}
		}
		*into = &recordings[i]
	}
	if noise == nil {
		return nil, nil, &measure.Refusal{Row: -1, Found: "a recording of the floor alone", Expected: "one of the noise through the set"}
	}
	if s := noise.DurationS(); !(s >= leastNoiseS) {
		return nil, nil, &measure.Refusal{Row: -1, Found: fmt.Sprintf("%.1f s of noise", s), Expected: fmt.Sprintf("%d s at least, better two minutes", leastNoiseS)}
	}
	return noise, floor, nil
}

// welch makes the spectrum of a recording. The mean of a segment is kept:
// taking it off would bend a passband that begins at zero.
func welch(ctx context.Context, rec measure.Recording, gaps []signal.Gap, segment int, progress func(float64)) (*signal.Spectrum, error) {
	src, err := rec.Open(ctx)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	if segment == 0 {
		// a hertz and a half, but thirty segments at least
		segment = int(math.Min(rec.RateHz/1.5, float64(rec.Frames)/15))
	}
	return signal.Welch(ctx, src, signal.SpectrumOptions{
		Segment: segment, KeepMean: true, Gaps: gaps, Frames: rec.Frames,
	}, progress)
}

// gather makes points of the spectrum: groups of bins, without the lines of hum
// and whistles, less the floor where it was recorded, as far as the noise stands
// clear of it.
func (c *curve) gather(noise, under *signal.Spectrum, set setting) error {
	from, to := set.audioFromHz, math.Min(orElse(set.audioToHz, math.Inf(1)), 0.45*noise.RateHz)
	shape, err := signal.NoiseBandwidth(noise, signal.BandwidthOptions{FromHz: from, ToHz: to})
	if err != nil {
		return &measure.Refusal{Row: -1, Found: err.Error(), Advice: "a minute or two of steady noise, loud enough, shows a passband"}
	}
	c.notes = append(c.notes, shape.Notes...)
	all := bins(noise, under, shape, from, to)
	clear := clearOf(all, shape, under != nil)
	if len(clear) < passband.LeastPoints {
		return &measure.Refusal{Row: -1, Found: "noise that hardly stands out from the floor", Expected: "a band of hiss",
			Advice: "turn up the gain before the detector, not the audio, and record again"}
	}
	low, high := clear[0].hz, clear[len(clear)-1].hz
	c.cut = low < from+2*noise.DF() && high > to-2*noise.DF()
	c.points = grouped(clear, (high-low)/groups)
	if len(c.points) < passband.LeastPoints {
		return &measure.Refusal{Row: -1, Found: "a band of noise too narrow for the length of the recording", Expected: "a longer one"}
	}
	c.note("the passband is taken from the noise between %.0f and %.0f Hz of audio, where it stands clear of what the audio stages and the sound input add; the response of the audio stages is in it", low, high)
	if low < from+2*noise.DF() && c.points[0].DB > maxDB(c.points)-6 {
		c.warn("the noise is still strong at %.0f Hz: the passband runs into zero beat and is folded there; set the BFO further to the side", low)
	}
	return nil
}

func orElse(x, other float64) float64 {
	if math.IsNaN(x) {
		return other
	}
	return x
}

func maxDB(points []passband.Point) float64 {
	top := math.Inf(-1)
	for _, p := range points {
		top = math.Max(top, p.DB)
	}
	return top
}

// place says where on the scale of the passband the audio frequencies lie.
func (c *curve) place(set setting) {
	side := set.bfoSide
	if set.detection == "if" && side == "" {
		side = "below" // what was taken off lies below
	}
	at := orElse(set.bfoOffsetHz, 0)
	known := !math.IsNaN(set.bfoOffsetHz)
	if set.detection == "if" && !known {
		return // as recorded
	}
	c.mirrored = side == ""
	c.offsets = !c.mirrored
	c.nominal = math.NaN()
	if known {
		c.nominal, c.bfoHz = 0, at
	}
	for i := range c.points {
		if side == "above" {
			c.points[i].Hz = at - c.points[i].Hz
		} else {
			c.points[i].Hz += at
		}
	}
	if c.mirrored {
		c.note("frequencies are those of the audio: say on which side the BFO stood, and how far off, to have them in the passband")
	}
}

// soundInput puts the sample rate right.
func (c *curve) soundInput(scale measure.SoundScale) {
	factor, parts := scale.Hz(1)
	c.rate = parts
	for i := range c.points {
		c.points[i].Hz *= factor
	}
}

// stretch says which part of which recording the figures come from.
func (w *work) stretch(rec measure.Recording) {
	for i, r := range w.raw.Recordings {
		if r.Role == rec.Role && r.Name == rec.Name && r.SHA256 == rec.SHA256 && r.Labels["part"] == rec.Labels["part"] {
			s := measure.Stretch{Recording: i, FromS: 0, ToS: rec.DurationS(), Label: "noise through the passband"}
			for _, f := range figures {
				s.Figures = append(s.Figures, f.ID)
			}
			w.out.Stretches = append(w.out.Stretches, s)
			return
		}
	}
}
