package selectivity

import (
	"context"
	"fmt"

	"setwright/internal/measure"
	"setwright/signal"
)

// mostClipped is the share of clipped samples from which a recording is
// refused: what clipping spreads then fills the skirts.
const mostClipped = 1e-3

// listen looks for what spoils a recording as a picture of the passband and
// returns its gaps, known and found.
func (c *curve) listen(ctx context.Context, rec measure.Recording, progress func(float64)) ([]signal.Gap, error) {
	if k := rec.Capture; k != nil && (isOn(k.Noise) || isOn(k.Echo)) {
		return nil, &measure.Refusal{Row: -1, Found: rec.Name + " made with noise suppression or echo cancelling on", Expected: "both off",
			Advice: "what takes out noise takes out what is measured here: turn it off and record again"}
	}
	src, err := rec.Open(ctx)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	d, err := signal.Inspect(ctx, src, signal.InspectOptions{Frames: rec.Frames}, progress)
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		return nil, &measure.Refusal{Row: -1, Found: rec.Name + ": " + err.Error()}
	case d.Silent:
		return nil, &measure.Refusal{Row: -1, Found: rec.Name + " is silent", Expected: "noise", Advice: "is the cable in, and the gain up?"}
	}
	if share := float64(d.ClippedFrames) / float64(max(d.Frames, 1)); share > mostClipped {
		return nil, &measure.Refusal{Row: -1, Found: fmt.Sprintf("%.2g %% of the samples of %s clipped", 100*share, rec.Name), Expected: "none",
			Advice: "clipped noise spreads and fills the skirts: turn the sound input down and record again"}
	} else if d.ClippedFrames > 0 {
		c.warn("%s has %d clipped samples: far down the skirts the passband may look wider than it is", rec.Name, d.ClippedFrames)
	}
	if d.AutoGain != nil && d.AutoGain.Found {
		c.warn("%s: %s; turn the automatic gain of the sound input off", rec.Name, d.AutoGain.Text)
	}
	return append(rec.Gaps(), d.Gaps()...), nil
}

func isOn(b *bool) bool { return b != nil && *b }
