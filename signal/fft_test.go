package signal

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"
)

func noiseBlock(n int) []float64 {
	r := rand.New(rand.NewPCG(uint64(n), 7))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

// farthest is the greatest difference as a share of the greatest coefficient.
func farthest(a, b []complex128) float64 {
	worst, most := 0.0, 0.0
	for k := range a {
		worst, most = math.Max(worst, cmplx.Abs(a[k]-b[k])), math.Max(most, cmplx.Abs(b[k]))
	}
	return worst / most
}

// The transform is its definition, term by term, for every small length: smooth,
// odd, prime.
func TestTransformIsItsDefinition(t *testing.T) {
	for n := 1; n <= 130; n++ {
		x := noiseBlock(n)
		want := make([]complex128, n/2+1)
		for k := range want {
			for i, v := range x {
				want[k] += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*float64(k*i%n)/float64(n))
			}
		}
		got := newRealFFT(n).Coefficients(nil, x)
		if len(got) != len(want) {
			t.Fatalf("%d samples: %d coefficients, want %d", n, len(got), len(want))
		}
		if d := farthest(got, want); !(d < 1e-13*math.Max(1, math.Log2(float64(n)))) {
			t.Errorf("%d samples: off by %.2g of the greatest", n, d)
		}
	}
}

// Another library gives the same.
func TestTransformAgainstAnother(t *testing.T) {
	for _, n := range []int{360, 512, 1000, 1200, 4096, 4050, 6000, 19200, 24000, 44100, 48000, 65536, 96000, 131072, 192000} {
		x := noiseBlock(n)
		f := newRealFFT(n)
		got, want := f.Coefficients(nil, x), fourier.NewFFT(n).Coefficients(nil, x)
		if d := farthest(got, want); !(d < 1e-14) {
			t.Errorf("%d samples: off by %.2g of the greatest", n, d)
		}
		sum := make([]float64, n/2+1)
		f.addPower(sum, x)
		for k, c := range want {
			if p := squared(c); math.Abs(sum[k]-p) > 1e-12*float64(n)*float64(n) || math.Abs(sum[k]-p) > 1e-11*p+1e-9 {
				t.Fatalf("%d samples: power of bin %d is %g, want %g", n, k, sum[k], p)
			}
		}
	}
}

// What goes in comes out as power (Parseval), whatever the smooth length.
func TestTransformKeepsPower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := smoothLength(rapid.IntRange(1, 20000).Draw(t, "n"))
		x := noiseBlock(n)
		var in, out float64
		for _, v := range x {
			in += v * v
		}
		for k, c := range newRealFFT(n).Coefficients(nil, x) {
			p := squared(c) / float64(n)
			if k > 0 && 2*k != n {
				p *= 2
			}
			out += p
		}
		if math.Abs(out/in-1) > 1e-13*math.Log2(float64(n)+1) {
			t.Fatalf("%d samples: power %g became %g", n, in, out)
		}
	})
}

func BenchmarkTransform(b *testing.B) {
	for _, n := range []int{4096, 6000, 48000, 65536, 192000} {
		x := noiseBlock(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			f, dst := newRealFFT(n), make([]complex128, n/2+1)
			for b.Loop() {
				f.Coefficients(dst, x)
			}
		})
		b.Run(fmt.Sprint(n, "-another"), func(b *testing.B) {
			f, dst := fourier.NewFFT(n), make([]complex128, n/2+1)
			for b.Loop() {
				f.Coefficients(dst, x)
			}
		})
	}
}
