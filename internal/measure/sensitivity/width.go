package sensitivity

import (
	"context"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// widthOf takes the noise bandwidth from the longest recording of noise without
// a signal. A diode beats every part of the noise with every other, so that only
// noise through a beat oscillator or product detector has the shape of the
// passband.
func (w *work) widthOf(ctx context.Context, takes []take, h *heard) error {
	longest, at := 0.0, -1
	for _, t := range takes {
		if d := w.raw.Recordings[t.index].DurationS(); (t.signal == "off" || t.signal == "dummy") && d > longest {
			longest, at = d, t.index
		}
	}
	if at < 0 || !math.IsNaN(w.set.widthHz) || w.set.mode != modeCW {
		return nil
	}
	rec := w.raw.Recordings[at]
	src, err := rec.Open(ctx)
	if err != nil {
		return err
	}
	defer src.Close()
	spectrum, err := signal.Welch(ctx, src, signal.SpectrumOptions{
		Segment: int(math.Min(rec.RateHz/4, float64(rec.Frames)/20)), KeepMean: true, Gaps: rec.Gaps(), Frames: rec.Frames}, nil)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	var band signal.Passband
	if err == nil {
		limits := w.audioBand(rec)
		band, err = signal.NoiseBandwidth(spectrum, signal.BandwidthOptions{FromHz: limits[0], ToHz: limits[1]})
	}
	if err != nil {
		w.note("no noise bandwidth from %s: %v", rec.Name, err)
		return nil
	}
	w.out.Notes = append(w.out.Notes, band.Notes...)
	h.widthHz, h.widthU = band.NoiseBandwidthHz, band.NoiseBandwidthU
	h.widthFrom = fmt.Sprintf("from the noise in %s, BFO on; the audio stages are in it, and a BFO inside the passband folds it", rec.Name)
	w.out.Stretches = append(w.out.Stretches, measure.Stretch{Recording: at, ToS: rec.DurationS(), Label: "noise without a signal", Figures: []string{"noise_bandwidth", "noise_figure"}})
	return nil
}

// bandwidth adds the noise bandwidth, as stated or from a recording.
func (w *work) bandwidth(h heard) {
	src := quantity.RunSource(w.raw.RunID, "noise bandwidth").Source("noise bandwidth", 0)
	var details []run.Detail
	hz, u := w.set.widthHz, w.set.widthU
	switch {
	case !math.IsNaN(hz):
		details = append(details, run.Text("from", "as stated"))
	case h.widthHz > 0:
		hz, u = h.widthHz, h.widthU
		details = append(details, run.Text("from", h.widthFrom))
		w.note("noise bandwidth: %s", h.widthFrom)
	default:
		if len(w.fits) > 0 && w.set.mode != modeSINAD {
			w.note("noise figure is not given: it needs the noise bandwidth, as an option of the run or from a recording of its noise")
		}
		return
	}
	v := quantity.New(hz, quantity.Contribution{Source: src, C: u})
	w.add(run.Figure{ID: "noise_bandwidth", Unit: "Hz", Outcome: quantity.Known(v), Details: details}, nil)
}
