package stability

import (
	"math"
	"testing"
)

// The modified total of a list taken as phase and the Hadamard total of the
// same list taken as frequency are one computation, as TDEV and OHDEV are.
func TestTotalsShareOneComputation(t *testing.T) {
	list, white := adevLCG1000()[:200], WhiteFM
	x, _ := NewPhase(list, 1)
	y := adevPhase(t, list, 1)
	for _, m := range []int{2, 5, 8, 30} {
		a, _ := DeviationsOf(x, DeviationOptions{Kinds: []Kind{KindTimeTotal}, Factors: []int{m}, Noise: &white})
		b, _ := DeviationsOf(y, DeviationOptions{Kinds: []Kind{KindHadamardTotal}, Factors: []int{m}, Noise: &white})
		ttot := a[0][0].Value * math.Sqrt(a[0][0].Bias)
		htot := b[0][0].Value * math.Sqrt(b[0][0].Bias)
		adevWithin(t, "time total of the list", ttot, htot, 1e-9)
		if a[0][0].N != b[0][0].N {
			t.Errorf("m=%d: %d and %d terms", m, a[0][0].N, b[0][0].N)
		}
	}
}

// Past devDense the totals skip neighbouring runs; the value hardly moves.
func TestDenseRunsAreEnough(t *testing.T) {
	const m = 4 * devDense
	x := adevPhase(t, adevGaussian(8*m, 21), 1).segments[0]
	every := devSum{}
	run := devRun{m: m, e: make([]float64, 3*m), cum: make([]float64, 9*m+1)}
	for i := 0; i+3*m <= len(x); i++ {
		copy(run.e, x[i:])
		every = every.plus(devSum{run.meanSquare(), 1})
	}
	adevWithin(t, "mean over some runs", devRuns(x, m).mean(), every.mean(), 2e-3)
}

// A stretch before and one after a gap: each total kind gives the mean over
// both, weighted by terms.
func TestTotalsAcrossAGap(t *testing.T) {
	w, white := adevGaussian(300, 8), WhiteFM
	cut := append(append(append([]float64{}, w[:180]...), math.NaN()), w[180:]...)
	parts := []Phase{adevPhase(t, w[:180], 1), adevPhase(t, w[180:], 1), adevPhase(t, cut, 1)}
	for _, k := range []Kind{KindTotal, KindModifiedTotal, KindHadamardTotal} {
		var square, edf [3]float64
		var terms [3]int
		for i, p := range parts {
			all, err := DeviationsOf(p, DeviationOptions{Kinds: []Kind{k}, Factors: []int{8}, Noise: &white})
			if err != nil {
				t.Fatal(err)
			}
			d := all[0][0]
			square[i], terms[i], edf[i] = d.Value*d.Value, d.N, d.EDF
		}
		a, b := float64(terms[0]), float64(terms[1])
		adevWithin(t, k.String(), square[2], (a*square[0]+b*square[1])/(a+b), 1e-9)
		adevWithin(t, k.String()+" edf", edf[2], edf[0]+edf[1], 1e-3)
	}
}

// The intervals hold what they promise, with the noise found from the record
// and with a tenth of the readings in gaps. The truth: AVAR(m) = s^2/m in white
// frequency noise, s^2 (2m^2 + 1)/(6m) for readings that are a random walk (from
// its definition: the variance of the difference of two adjacent means of m),
// HVAR = s^2/m in white frequency noise; total kinds estimate the same.
func TestIntervalsCover(t *testing.T) {
	const records, readings = 1500, 400
	white := func(m float64) float64 { return 1 / m }
	walk := func(m float64) float64 { return (2*m*m + 1) / (6 * m) }
	for _, c := range []struct {
		name  string
		kind  Kind
		make  func([]float64) []float64
		truth func(float64) float64
		gaps  bool
	}{
		{"white", KindOverlappingAllan, nil, white, false},
		{"white, gaps", KindOverlappingAllan, nil, white, true},
		{"white, gaps", KindOverlappingHadamard, nil, white, true},
		{"white", KindAllan, nil, white, false},
		{"white", KindTotal, nil, white, false},
		{"random walk", KindOverlappingAllan, adevCumulate, walk, false},
		{"random walk, gaps", KindOverlappingAllan, adevCumulate, walk, true},
		{"random walk", KindTotal, adevCumulate, walk, false},
	} {
		covered := map[int]int{}
		for seed := range uint64(records) {
			y := adevGaussian(readings, seed)
			if c.make != nil {
				y = c.make(y)
			}
			for _, start := range []int{71, 200, 290} {
				for i := range 14 {
					if c.gaps {
						y[start+i] = math.NaN()
					}
				}
			}
			p := adevPhase(t, y, 1)
			for _, m := range []int{1, 4, 16} {
				d, err := Deviations(c.kind, p, m)
				if err != nil {
					t.Fatal(err)
				}
				truth := math.Sqrt(c.truth(float64(m)))
				if d[0].Lo <= truth && truth <= d[0].Hi {
					covered[m]++
				}
			}
		}
		for m, n := range covered {
			if share := float64(n) / records; share < 0.91 || share > 0.985 {
				t.Errorf("%s, %v, m=%d: %.1f %% of the 95 %% intervals hold the truth", c.name, c.kind, m, 100*share)
			}
		}
	}
}
