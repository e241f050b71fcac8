package signal

import "math"

// envelopeWidth is the number of channel samples over which the envelope is
// averaged: 50 ms, a fast dot.
const envelopeWidth = 5

// followEnvelope fits again with the envelope as weight where it is not
// constant: a faded or keyed tone.
func (u *tuner) followEnvelope(c *channel, f *toneFit, re, im []float64) {
	u.turnBack(c, f, re, im)
	for range 2 {
		mean := u.smoothAlong(c)
		spread := 0.0
		for i := c.from; i < c.to; i++ {
			d := u.smoothed[i] - mean
			spread += d * d
		}
		spread /= float64(max(1, c.to-c.from))
		// Of noise the smoothed part along the tone has about this variance: half of
		// the vector's density over the bandwidth of a mean of 50 ms.
		noisy := f.n1 / (envelopeWidth * c.dt)
		if spread < 3*noisy+0.0025*mean*mean {
			return
		}
		f.varying = true
		floor := 2.5 * math.Sqrt(noisy)
		for i := c.from; i < c.to; i++ {
			u.weight[i] = 0
			if u.smoothed[i] > floor {
				u.weight[i] = u.smoothed[i]
			}
		}
		u.refine(c, f, re, im, 6)
		u.noise(c, f)
	}
}

// smoothAlong averages the part along the tone over the envelope's width and
// returns its mean.
func (u *tuner) smoothAlong(c *channel) float64 {
	u.smoothed = resized(u.smoothed, len(c.t))
	mean := 0.0
	for i := c.from; i < c.to; i++ {
		a, b := max(c.from, i-envelopeWidth/2), min(c.to, i+envelopeWidth/2+1)
		sum := 0.0
		for k := a; k < b; k++ {
			sum += u.p[k]
		}
		u.smoothed[i] = sum / float64(b-a)
		mean += u.smoothed[i]
	}
	return mean / float64(max(1, c.to-c.from))
}
