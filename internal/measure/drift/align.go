package drift

import (
	"math"

	"setwright/internal/measure"
)

// Align evaluates every run at the horizon of the shortest: a longer record
// sees more of the set's way and would settle later by its own reckoning.
func (Measurement) Align(raws []measure.Raw) map[string]string {
	shortest := math.Inf(1)
	for _, raw := range raws {
		if end := endOf(raw); end > 0 {
			shortest = math.Min(shortest, end)
		}
	}
	if math.IsInf(shortest, 1) {
		return nil
	}
	return map[string]string{"horizon": plain(shortest) + " s"}
}

// Fits says whether a run reaches the horizon.
func (Measurement) Fits(raw measure.Raw, applied map[string]string) bool {
	horizon, err := measure.ParseNumber(applied["horizon"], "s")
	return err != nil || endOf(raw) >= horizon
}

// endOf returns the time of a run's last reading since power-on, 0 if it has
// none.
func endOf(raw measure.Raw) float64 {
	set, err := read(raw)
	if err == nil && fromRecording(raw) {
		return endOfRecording(raw, set)
	}
	t := raw.Series.Column("time")
	if err != nil || t == nil || len(t.Values) == 0 {
		return 0
	}
	start := t.Values[0]
	if !math.IsNaN(set.powerOnS) {
		start = set.powerOnS
	}
	end := t.Values[len(t.Values)-1] - start
	if h := set.horizonS; !math.IsNaN(h) && h < end {
		return h
	}
	return end
}

// endOfRecording is the same for a recorded beat note: the last whole second
// since power-on, without following the note.
func endOfRecording(raw measure.Raw, set settings) float64 {
	b, err := onlyBeat(raw)
	if err != nil {
		return 0
	}
	start := set.powerOnS
	if math.IsNaN(start) {
		start, _ = b.powerOn()
	}
	end := math.Floor(b.rec.DurationS()) - 0.5 - start
	if h := set.horizonS; !math.IsNaN(h) && h < end {
		return h
	}
	return math.Max(0, end)
}
