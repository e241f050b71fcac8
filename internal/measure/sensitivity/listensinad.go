package sensitivity

import (
	"context"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/signal"
)

// sinad is a point from a recording with the signal alone.
func (w *work) sinad(ctx context.Context, rec measure.Recording, t take) (point, bool, error) {
	if math.IsNaN(t.dBm) {
		w.note("%s is left out: its input level is not written on it", rec.Name)
		return point{}, false, nil
	}
	src, err := rec.Open(ctx)
	if err != nil {
		return point{}, false, err
	}
	defer src.Close()
	band := w.audioBand(rec)
	o := signal.ToneOptions{FromHz: band[0], ToHz: band[1], Gaps: rec.Gaps(), Frames: rec.Frames}
	if text := w.raw.Options["modulation_frequency"]; text != "" && w.modulated() {
		if o.Hz, err = measure.ParseNumber(text, "Hz"); err != nil {
			o.Hz = 0
		}
	}
	tone, err := signal.AnalyseTone(ctx, src, o, nil)
	if ctx.Err() != nil {
		return point{}, false, ctx.Err()
	}
	if err != nil {
		w.note("%s is left out: %v", rec.Name, err)
		return point{}, false, nil
	}
	w.stretch(t.index, fmt.Sprintf("tone of %s at %s", told(tone.Hz, "Hz"), told(t.dBm, "dBm")))
	return point{dBm: t.dBm, ratio: tone.SINADRadio, u: math.Max(tone.SINADRadioU, 0.02), row: -1, on: math.NaN(), off: math.NaN()}, true, nil
}
