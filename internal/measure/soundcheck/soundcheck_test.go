package soundcheck

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/signal"
)

type closing struct{ signal.Source }

func (closing) Close() error { return nil }

// TestOneFaultIsOneGap: zeros put into an invented tone were found when the
// recording came and are found again: one gap, said once.
func TestOneFaultIsOneGap(t *testing.T) {
	x := make([]float64, 4*48000)
	for i := range x {
		x[i] = 0.3*math.Sin(2*math.Pi*997*float64(i)/48000) + 0.01*math.Sin(2*math.Pi*50*float64(i)/48000)
	}
	clear(x[96000:96960])
	open := func(context.Context) (measure.SourceCloser, error) { return closing{signal.FromSlice(48000, x)}, nil }
	at := signal.Gap{Frame: 96000, Frames: 960, Why: "zeros"}
	for _, c := range []*run.Capture{nil, {Path: "file", Gaps: []signal.Gap{at}}} {
		rec := measure.Recording{Recording: run.Recording{Name: "tone.wav", RateHz: 48000, Channels: 1, Frames: int64(len(x)), Capture: c}, Open: open}
		got, err := Look(t.Context(), rec, nil)
		if err != nil || len(got.Gaps) != 1 || max(at.Frame-got.Gaps[0].Frame, got.Gaps[0].Frame-at.Frame) > 2 {
			t.Errorf("known %v: %+v, %v", c != nil, got.Gaps, err)
		}
		if !slices.ContainsFunc(got.Notes, func(n string) bool { return strings.Contains(n, "has a gap") }) {
			t.Errorf("known %v: %q", c != nil, got.Notes)
		}
		if !got.Touched(95000, 96500) || got.Touched(0, 95000) {
			t.Error("where it is")
		}
	}
}
