package signal

import "math"

// The prototype of the K-weighting at any rate, by libebur128; at 48 kHz it
// gives the coefficients that ITU-R BS.1770 prints, to the last digit.
const (
	shelfHz   = 1681.974450955533
	shelfQ    = 0.7071752369554196
	shelfDB   = 3.999843853973347
	shelfPart = 0.4996667741545416
	passHz    = 38.13547087602444
	passQ     = 0.5003270373238773
)

// kWeighting are the two stages of the K-weighting of ITU-R BS.1770: a shelf and
// a high-pass.
//
// The Recommendation prints coefficients for 48 kHz only, and the numerator of
// its high-pass, 1, −2, 1, is not that of a gain of 1: it is not divided by the
// a0 of its transform. What follows for other rates is not said. We follow
// libebur128, which takes the numerator as it stands at every rate; its pass-band
// therefore lies 0.215 dB higher at 8 kHz than at 48 kHz, 0.086 dB at 16 kHz,
// 0.004 dB at 44.1 kHz, and 0.022 dB lower at 96 kHz. Compare recordings of one
// rate.
func kWeighting(rate float64) (shelf, pass Biquad) {
	k := math.Tan(math.Pi * shelfHz / rate)
	vh := math.Pow(10, shelfDB/20)
	vb := math.Pow(vh, shelfPart)
	a0 := 1 + k/shelfQ + k*k
	shelf = Biquad{
		B0: (vh + vb*k/shelfQ + k*k) / a0, B1: 2 * (k*k - vh) / a0, B2: (vh - vb*k/shelfQ + k*k) / a0,
		A1: 2 * (k*k - 1) / a0, A2: (1 - k/shelfQ + k*k) / a0,
	}
	k = math.Tan(math.Pi * passHz / rate)
	a0 = 1 + k/passQ + k*k
	pass = Biquad{B0: 1, B1: -2, B2: 1, A1: 2 * (k*k - 1) / a0, A2: (1 - k/passQ + k*k) / a0}
	return shelf, pass
}

// kMeter sums the squares of one channel after the K-weighting.
type kMeter struct {
	shelf, pass            Biquad
	x1, x2, y1, y2, z1, z2 float64 // what the stages remember: input, between, output
	d1                     float64 // y1 − y2
}

func newKMeter(rate float64) *kMeter {
	shelf, pass := kWeighting(rate)
	return &kMeter{shelf: shelf, pass: pass}
}

// squares filters x, which it does not change, and returns the sum of the
// squares of what comes out. Both stages run in one loop, written so that each
// sample waits for one product and one difference of the sample before it only.
func (k *kMeter) squares(x []float64) float64 {
	b0, b1, b2, a1, a2 := k.shelf.B0, k.shelf.B1, k.shelf.B2, k.shelf.A1, k.shelf.A2
	c1, c2 := k.pass.A1, k.pass.A2
	x1, x2, y1, y2, z1, z2, d1 := k.x1, k.x2, k.y1, k.y2, k.z1, k.z2, k.d1
	var sum, other float64
	i := 0
	for ; i+1 < len(x); i += 2 { // two samples, so that nothing need be moved
		u := x[i]
		y2 = b0*u + b1*x1 + b2*x2 - a2*y2 - a1*y1
		d := y2 - y1
		z2 = d - d1 - c2*z2 - c1*z1
		sum += z2 * z2
		x2 = u

		u = x[i+1]
		y1 = b0*u + b1*x2 + b2*x1 - a2*y1 - a1*y2
		d1 = y1 - y2
		z1 = d1 - d - c2*z1 - c1*z2
		other += z1 * z1
		x1 = u
	}
	if i < len(x) {
		u := x[i]
		y := b0*u + b1*x1 + b2*x2 - a2*y2 - a1*y1
		d := y - y1
		z := d - d1 - c2*z2 - c1*z1
		sum += z * z
		x1, x2, y1, y2, z1, z2, d1 = u, x1, y, y1, z, z1, d
	}
	if math.Abs(y1)+math.Abs(z1)+math.Abs(z2) < tiny {
		y1, y2, z1, z2, d1 = 0, 0, 0, 0, 0
	}
	k.x1, k.x2, k.y1, k.y2, k.z1, k.z2, k.d1 = x1, x2, y1, y2, z1, z2, d1
	return sum + other
}
