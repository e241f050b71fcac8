package signal

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestLowestAreTheLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-5, 5), rapid.Just(1.0)), 0, 300).Draw(t, "x")
		k := rapid.IntRange(0, len(x)).Draw(t, "k")
		want := slices.Clone(x)
		slices.Sort(want)
		lowest(x, k)
		got := slices.Clone(x[:k])
		slices.Sort(got)
		rest := slices.Clone(x)
		slices.Sort(rest)
		if !slices.Equal(got, want[:k]) || !slices.Equal(rest, want) {
			t.Fatalf("the %d least are %v, want %v", k, got, want[:k])
		}
	})
}

// The noise beside each bin is the median of the bins about it, as by sorting
// them each time.
func TestCombNoiseIsTheMedianAbout(t *testing.T) {
	p := noiseBlock(500)
	for i := range p {
		p[i] = math.Abs(p[i])
	}
	got := combNoise(p, 0.25, 8)
	for i := range p {
		w := slices.Clone(p[max(1, i-24):min(len(p), i+25)])
		slices.Sort(w)
		if want := w[len(w)/2] / (1 - 1/24.0 + 8/(405*64.0)); math.Abs(got[i]-want) > 1e-12*want {
			t.Fatalf("bin %d: %g, want %g", i, got[i], want)
		}
	}
}
