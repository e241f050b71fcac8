package stability

import "math"

// Injection says on which side of the signal a local oscillator stands, "high"
// or "low", and by how much: oscillator and dial are frequencies in Hz at the
// horizon, the difference is an estimate of the intermediate frequency. It is
// "" where the two are equal or one is not a number.
func Injection(oscillatorHz, dialHz float64) (side string, ifHz float64) {
	d := oscillatorHz - dialHz
	switch {
	case d > 0:
		side = "high"
	case d < 0:
		side = "low"
	}
	return side, math.Abs(d)
}
