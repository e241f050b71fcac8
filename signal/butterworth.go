package signal

import (
	"fmt"
	"math"
	"math/cmplx"
)

const greatestOrder = 24

// LowPass is a Butterworth low-pass: −3.01 dB at the corner, falling by 6·order
// dB an octave. By the bilinear transform, warped so that the corner is exact.
func LowPass(rate, hz float64, order int) (*Filter, error) {
	if err := checkBand(rate, order, hz); err != nil {
		return nil, err
	}
	w := warp(rate, hz)
	f := newFilter(rate)
	for _, p := range prototype(order) {
		f.add(lowSection(p, w))
	}
	return f, nil
}

// HighPass is a Butterworth high-pass: −3.01 dB at the corner.
func HighPass(rate, hz float64, order int) (*Filter, error) {
	if err := checkBand(rate, order, hz); err != nil {
		return nil, err
	}
	// A high-pass is the low-pass of the mirrored frequency axis: z for −z.
	w := 1 / warp(rate, hz)
	f := newFilter(rate)
	for _, p := range prototype(order) {
		b := lowSection(p, w)
		b.B1, b.A1 = -b.B1, -b.A1
		f.add(b)
	}
	return f, nil
}

// BandPass is a Butterworth band-pass made from a low-pass of the order given:
// −3.01 dB at both edges, gain 1 at the geometric middle of the (warped) edges,
// 6·order dB an octave of distance from the middle on either side.
func BandPass(rate, lowHz, highHz float64, order int) (*Filter, error) {
	if err := checkBand(rate, order, lowHz, highHz); err != nil {
		return nil, err
	}
	w1, w2 := warp(rate, lowHz), warp(rate, highHz)
	width, middle := w2-w1, math.Sqrt(w1*w2)
	f := newFilter(rate)
	for _, p := range prototype(order) {
		f.addBand(p*complex(width, 0), middle)
	}
	return f, nil
}

func checkBand(rate float64, order int, hz ...float64) error {
	if err := needRate(rate); err != nil {
		return err
	}
	if order < 1 || order > greatestOrder {
		return fmt.Errorf("signal: a filter of order %d, expected 1 to %d", order, greatestOrder)
	}
	last := 0.0
	for _, f := range hz {
		if !(f > last) || !(f < rate/2) {
			return fmt.Errorf("signal: a filter with edges %v Hz at %v samples a second, expected rising frequencies between 0 and %v Hz", hz, rate, rate/2)
		}
		last = f
	}
	return nil
}

// warp is the frequency of the continuous filter, the bilinear transform being
// s = (1−1/z)/(1+1/z).
func warp(rate, hz float64) float64 { return math.Tan(math.Pi * hz / rate) }

// prototype are the poles of the Butterworth low-pass of corner 1 in the upper
// half plane, the real one of an odd order last (S. Butterworth, 1930).
func prototype(order int) []complex128 {
	var out []complex128
	for k := range (order + 1) / 2 {
		a := math.Pi * (0.5 + (float64(k)+0.5)/float64(order))
		p := cmplx.Exp(complex(0, a))
		if order%2 == 1 && k == order/2 {
			p = -1
		}
		out = append(out, p)
	}
	return out
}

// lowSection is the low-pass section of a prototype pole (with its conjugate
// where it has one) and corner w.
func lowSection(p complex128, w float64) Biquad {
	if imag(p) == 0 {
		a := (w - 1) / (w + 1)
		g := (1 + a) / 2
		return Biquad{B0: g, B1: g, A1: a}
	}
	b := denominator(p * complex(w, 0))
	g := (1 + b.A1 + b.A2) / 4
	b.B0, b.B1, b.B2 = g, 2*g, g
	return b
}

// denominator is that of the pole s and its conjugate after the transform.
func denominator(s complex128) Biquad {
	z := (1 + s) / (1 - s)
	return Biquad{A1: -2 * real(z), A2: real(z)*real(z) + imag(z)*imag(z)}
}

// addBand adds what the pole p of the low-pass, scaled to the width, becomes:
// s² − p·s + middle² = 0 has two roots, each with its conjugate.
func (f *Filter) addBand(p complex128, middle float64) {
	root := cmplx.Sqrt(p*p - complex(4*middle*middle, 0))
	s1, s2 := (p+root)/2, (p-root)/2
	if imag(p) != 0 {
		f.add(f.peak(denominator(s1), middle))
		f.add(f.peak(denominator(s2), middle))
		return
	}
	z1, z2 := (1+s1)/(1-s1), (1+s2)/(1-s2) // real, or conjugate to each other
	f.add(f.peak(Biquad{A1: -real(z1 + z2), A2: real(z1 * z2)}, middle))
}

// peak gives a section zeros at 0 and half the rate and gain 1 at the middle.
func (f *Filter) peak(b Biquad, middle float64) Biquad {
	b.B0, b.B2 = 1, -1
	iz := cmplx.Exp(complex(0, -2*math.Atan(middle)))
	g := 1 / cmplx.Abs(b.response(iz))
	b.B0, b.B2 = g, -g
	return b
}

func (f *Filter) add(b Biquad) {
	f.Sections = append(f.Sections, b)
	f.state = append(f.state, [4]float64{})
}
