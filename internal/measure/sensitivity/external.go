package sensitivity

import (
	"math"

	"setwright/internal/run"
	"setwright/noise"
	"setwright/quantity"
)

// external adds the external noise that is to be expected where the set is
// used.
func (w *work) external() {
	if w.set.surroundings == "" {
		return
	}
	place, err := noise.FindSurroundings(w.set.surroundings)
	if err == nil && math.IsNaN(w.set.dialHz) {
		w.note("external noise is not given: it needs the dial frequency")
		return
	}
	var e noise.External
	if err == nil {
		e, err = place.At(w.set.dialHz)
	}
	if err != nil {
		w.note("external noise is not given: %v", err)
		return
	}
	w.add(run.Figure{ID: "external_noise", Unit: "dB", Outcome: quantity.Known(e.Value()), Details: []run.Detail{
		run.Text("from", "Recommendation ITU-R P.372, short lossless antenna"),
		run.Number("upper_decile", "dB", e.MedianDB+e.UpperDB), run.Number("lower_decile", "dB", e.MedianDB-e.LowerDB),
	}}, map[string]string{"surroundings": place.ID})
	w.note("external noise: Recommendation ITU-R P.372, median for a short lossless antenna over good ground; its uncertainty is that of one place and hour. Noise of thunderstorms is not in it")
}
