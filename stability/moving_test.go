package stability

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawnCurve draws a record with uneven and repeated times.
func drawnCurve(t *rapid.T) (ts, f []float64) {
	n := rapid.IntRange(2, 60).Draw(t, "n")
	x := 0.0
	for i := 0; i < n; i++ {
		ts = append(ts, x)
		f = append(f, float64(rapid.IntRange(-50, 50).Draw(t, "f")))
		x += float64(rapid.IntRange(0, 40).Draw(t, "dt")) * 5
	}
	return ts, f
}

// The queues agree with looking at every pair of readings.
func TestPeakToPeakAgainstAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ts, f := drawnCurve(t)
		want := 0.0
		for i := range ts {
			for j := i; j < len(ts) && ts[j]-ts[i] <= 600; j++ {
				want = math.Max(want, math.Abs(f[j]-f[i]))
			}
		}
		if got, _ := setPeakToPeak(ts, f, 600); got != want {
			t.Fatalf("got %v, want %v", got, want)
		}
	})
}

// The queues agree with the range of each window taken anew, and no window
// that begins between two starts moves by more.
func TestMovementAgainstEveryWindow(t *testing.T) {
	span := func(ts, f []float64, a, b float64) float64 {
		x, y := setLinear(ts, f, a), setLinear(ts, f, b)
		lo, hi := math.Min(x, y), math.Max(x, y)
		for i := range ts {
			if ts[i] >= a && ts[i] <= b {
				lo, hi = math.Min(lo, f[i]), math.Max(hi, f[i])
			}
		}
		return hi - lo
	}
	rapid.Check(t, func(t *rapid.T) {
		ts, f := drawnCurve(t)
		w := setMovement(ts, f, 600)
		if len(w.start) == 0 {
			if ts[len(ts)-1]-ts[0] >= 600 {
				t.Fatal("no windows in a record of 10 min")
			}
			return
		}
		for k, x := range w.start {
			if got, want := w.span[k], span(ts, f, x, x+600); math.Abs(got-want) > 1e-9 {
				t.Fatalf("window from %v s: %v, want %v", x, got, want)
			}
			if k > 0 && x > w.start[k-1] {
				mid := (x + w.start[k-1]) / 2
				if between := span(ts, f, mid, mid+600); between > math.Max(w.span[k], w.span[k-1])+1e-9 {
					t.Fatalf("window from %v s moves by %v, more than those beside it", mid, between)
				}
			}
		}
	})
}

// Averages over 10 s keep the mean; times stay in order.
func TestMeansOfTenSeconds(t *testing.T) {
	ts := []float64{0, 1, 4, 9, 11, 12, 35}
	f := []float64{1, 2, 3, 6, 5, 7, 9}
	mt, mf := setMeans(ts, f, 0, 10)
	want := []float64{3, 6, 9}
	for i := range want {
		near(t, "mean", mf[i], want[i], 1e-12)
	}
	near(t, "time of the first", mt[0], 3.5, 1e-12)
}
