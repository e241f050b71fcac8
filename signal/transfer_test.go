package signal

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// programme makes an invented programme: noise through a low-pass, as loud as
// speech now and then.
func programme(n int, rate float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	out := make([]float64, n)
	y := 0.0
	for i := range out {
		y += (rng.NormFloat64() - y) * 0.5
		out[i] = 0.1 * y * (1 + 0.5*math.Sin(2*math.Pi*3*float64(i)/rate))
	}
	return out
}

// lowPassed is a single pole at hz, exact in the discrete domain.
func lowPassed(x []float64, rate, hz float64) (y []float64, gain func(f float64) float64) {
	a := 1 - math.Exp(-2*math.Pi*hz/rate)
	y = make([]float64, len(x))
	s := 0.0
	for i, v := range x {
		s += a * (v - s)
		y[i] = s
	}
	return y, func(f float64) float64 {
		w := 2 * math.Pi * f / rate
		return a / math.Hypot(1-(1-a)*math.Cos(w), (1-a)*math.Sin(w))
	}
}

// A low-pass with noise behind it: gain within its uncertainty, coherence and
// the share of noise as put in.
func TestTransferOfKnownFilter(t *testing.T) {
	const rate = 16000.0
	x := programme(40*16000, rate, 1)
	y, gain := lowPassed(x, rate, 1500)
	rng := rand.New(rand.NewPCG(5, 6))
	clean, noise := 0.0, 0.0
	for i := range y {
		e := 0.01 * rng.NormFloat64()
		clean += y[i] * y[i]
		noise += e * e
		y[i] += e
	}
	tr, err := MeasureTransfer(t.Context(), FromSlice(rate, x), FromSlice(rate, y), TransferOptions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	inside := 0
	for _, hz := range []float64{200, 300, 450, 700, 1000, 1500, 2200, 3300, 5000} {
		g, u, coherence := tr.BandGain(hz*0.97, hz*1.03)
		if math.Abs(g-gain(hz)) < 2*u+2e-3*g {
			inside++
		}
		if coherence < 0.5 || u <= 0 || u > 0.1*g {
			t.Errorf("%g Hz: gain %.4f ± %.4f, coherence %.3f", hz, g, u, coherence)
		}
	}
	if inside < 8 {
		t.Errorf("%d of 9 gains within two of their uncertainties", inside)
	}
	share, u := tr.IncoherentShare(0, rate/2)
	if want := math.Sqrt(noise / (clean + noise)); math.Abs(share-want) > 3*u+0.01*want {
		t.Errorf("incoherent share %.4f ± %.4f, put in %.4f", share, u, want)
	}
}

// Two recorders with clocks 73 parts in a million apart (the rate of a published
// worked example, CHECKED there with other tools) and started at other times are
// aligned, and the response is then as flat as it was.
func TestDelayAndSkewOfTwoRecorders(t *testing.T) {
	const rate, skew = 12000.0, 73e-6
	x := programme(40*12000, rate, 2)
	smooth, _ := lowPassed(x, rate, 2000)
	smooth, _ = lowPassed(smooth, rate, 2000) // so that a straight line between samples will do
	// the output's clock runs fast: what the input has at s it has at s·(1+skew) + 1.5 s
	y := make([]float64, 39*12000)
	for i := range y {
		s := (float64(i)/rate - 1.5) / (1 + skew) * rate
		if s < 1 || s+2 >= float64(len(smooth)) {
			continue
		}
		k, f := int(s), s-math.Floor(s)
		y[i] = cubic(smooth[k-1:k+3], f)
	}
	d, err := FindDelay(t.Context(), FromSlice(rate, smooth), FromSlice(rate, y), DelayOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(d.Skew-skew) > 1e-6 || math.Abs(d.Seconds-1.5/(1+skew)) > 0.117/rate { // a parabola through three samples is out by up to 0.117 of one (CHECKED in a compiled reference)
		t.Errorf("delay %.7f s, skew %.2f parts in a million; put in 1.4998905 s and 73", d.Seconds, 1e6*d.Skew)
	}
	tr, err := MeasureTransfer(t.Context(), FromSlice(rate, smooth), FromSlice(rate, y), TransferOptions{Delay: d}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, hz := range []float64{200, 500, 1000, 1500} {
		if g, _, coherence := tr.BandGain(hz*0.97, hz*1.03); math.Abs(g-1) > 0.02 || coherence < 0.99 {
			t.Errorf("%g Hz: gain %.4f, coherence %.4f", hz, g, coherence)
		}
	}
}

// cubic interpolates between the middle two of four samples.
func cubic(p []float64, f float64) float64 {
	return p[1] + 0.5*f*(p[2]-p[0]+f*(2*p[0]-5*p[1]+4*p[2]-p[3]+f*(3*(p[1]-p[2])+p[3]-p[0])))
}

// Recordings of two programmes are refused, and so are rates that differ.
func TestTransferRefusals(t *testing.T) {
	a, b := programme(10*8000, 8000, 3), programme(10*8000, 8000, 4)
	if _, err := FindDelay(t.Context(), FromSlice(8000, a), FromSlice(8000, b), DelayOptions{}); err == nil || !strings.Contains(err.Error(), "same programme") {
		t.Errorf("two programmes: %v", err)
	}
	if _, err := FindDelay(t.Context(), FromSlice(8000, a[:9000]), FromSlice(8000, a), DelayOptions{}); err == nil {
		t.Error("one second was enough")
	}
	if _, err := MeasureTransfer(t.Context(), FromSlice(8000, a), FromSlice(16000, a), TransferOptions{}, nil); err == nil || !strings.Contains(err.Error(), "one rate") {
		t.Errorf("two rates: %v", err)
	}
	if _, err := MeasureTransfer(t.Context(), FromSlice(8000, a[:2000]), FromSlice(8000, a), TransferOptions{}, nil); err == nil {
		t.Error("two segments were enough")
	}
}
