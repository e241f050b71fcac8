package signal

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"
)

// Every row of the published table of noise bandwidths, as the spectrum of
// noise through that filter would show it with endless averaging: a density
// that is |H|² about a middle of 12 kHz, laid out over frequency.
func TestNoiseBandwidthOfPublishedFilters(t *testing.T) {
	for _, row := range publishedRows(t, "enbw.csv") {
		gain, width := publishedFilter(t, row)
		const rate, middle, half = 48000.0, 12000.0, 40.0 // half of the stated width
		s := &Spectrum{RateHz: rate, Segment: 1 << 17, Effective: 1e8, MeanKept: true}
		for k := range s.Segment/2 + 1 {
			s.Density = append(s.Density, gain(width*math.Abs(float64(k)*s.DF()-middle)/half)+1e-15)
		}
		p, err := NoiseBandwidth(s, BandwidthOptions{})
		if err != nil {
			t.Fatal(err)
		}
		// Beyond the spectrum's ends a single pole still has 0.21 % of its noise.
		tol := 0.001
		if row["order"] == "1" {
			tol = 0.003
		}
		want := published(t, row, "enbw_ratio")
		within(t, row["filter"]+" "+row["order"], p.NoiseBandwidthHz/(2*half), want, tol*want)
	}
}

// publishedFilter is a row's power gain over frequency, and the frequency that
// its ratio is referred to.
func publishedFilter(t *testing.T, row map[string]string) (gain func(w float64) float64, width float64) {
	t.Helper()
	name := row["filter"]
	n := 0.0
	if row["order"] != "inf" {
		n = published(t, row, "order")
	}
	switch {
	case strings.HasPrefix(name, "butterworth"):
		return func(w float64) float64 { return 1 / (1 + math.Pow(w, 2*n)) }, 1
	case strings.HasPrefix(name, "n equal"):
		return func(w float64) float64 { return math.Pow(1+w*w, -n) }, math.Sqrt(math.Pow(2, 1/n) - 1)
	case strings.HasPrefix(name, "gaussian"):
		down := 2.0 // of power at the width
		if row["referred_to"] == "B6dB" {
			down = 4
		}
		return func(w float64) float64 { return math.Exp(-w * w) }, math.Sqrt(math.Log(down))
	case strings.HasPrefix(name, "single tuned (6 dB"):
		return func(w float64) float64 { return 1 / (1 + w*w) }, math.Sqrt(3)
	case strings.HasPrefix(name, "bessel"):
		g := func(w float64) float64 { return besselGain(int(n), w) }
		return g, halfPower(g)
	}
	var ripple float64
	if _, err := fmt.Sscanf(name, "chebyshev %g dB", &ripple); err != nil {
		t.Fatalf("a filter that no test knows: %q", name)
	}
	e2 := math.Pow(10, ripple/10) - 1
	return func(w float64) float64 { c := chebyshev(n, w); return 1 / (1 + e2*c*c) }, 1
}

func chebyshev(n, w float64) float64 {
	if w <= 1 {
		return math.Cos(n * math.Acos(w))
	}
	return math.Cosh(n * math.Acosh(w))
}

// besselGain is |theta_n(0)/theta_n(jw)|², by the reverse Bessel polynomials
// theta_n(s) = (2n−1)·theta_(n−1)(s) + s²·theta_(n−2)(s).
func besselGain(n int, w float64) float64 {
	theta := func(s complex128) complex128 {
		a, b := complex(1, 0), s+1
		for k := 2; k <= n; k++ {
			a, b = b, complex(float64(2*k-1), 0)*b+s*s*a
		}
		return b
	}
	g := cmplx.Abs(theta(0) / theta(complex(0, w)))
	return g * g
}

func halfPower(g func(float64) float64) float64 {
	low, high := 0.0, 100.0
	for range 60 {
		if m := (low + high) / 2; g(m) > 0.5 {
			low = m
		} else {
			high = m
		}
	}
	return low
}
