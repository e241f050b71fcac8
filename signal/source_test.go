package signal

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestStretches: whatever the gaps, in any order, overlapping or beyond the end,
// the stretches are in order, within the recording, not empty, and hold every
// frame that no gap covers.
func TestStretches(t *testing.T) {
	got := Stretches(100, []Gap{{Frame: 200, Frames: 1}, {Frame: 50, Frames: 100}, {Frame: 20}, {Frame: 10, Frames: 5}})
	if want := []Stretch{{0, 10}, {15, 20}, {20, 50}}; !slices.Equal(got, want) {
		t.Errorf("%v, expected %v", got, want)
	}
	rapid.Check(t, func(t *rapid.T) {
		frames := rapid.Int64Range(0, 60).Draw(t, "frames")
		gaps := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Gap {
			return Gap{Frame: rapid.Int64Range(0, 90).Draw(t, "frame"), Frames: rapid.Int64Range(0, 40).Draw(t, "length")}
		}), 0, 6).Draw(t, "gaps")
		covered := make([]bool, frames)
		for _, g := range gaps {
			for f := g.Frame; f < min(frames, g.Frame+g.Frames); f++ {
				covered[f] = true
			}
		}
		last := int64(0)
		for _, s := range Stretches(frames, gaps) {
			if s.From < last || s.To <= s.From || s.To > frames {
				t.Fatalf("stretch %v of %d frames, the one before ended at %d", s, frames, last)
			}
			for f := s.From; f < s.To; f++ {
				if covered[f] {
					t.Fatalf("frame %d is in a gap", f)
				}
				covered[f] = true
			}
			last = s.To
		}
		if i := slices.Index(covered, false); i >= 0 {
			t.Fatalf("frame %d is in no stretch", i)
		}
	})
}
