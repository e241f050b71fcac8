package agc

import (
	"fmt"
	"math"
)

// source is the generator as a source of level: its resistance, and whether its
// volts are those of the EMF or across a matched load.
type source struct {
	ohm float64
	pd  bool
}

// dBm is the available power of what the generator shows: E²/4R (0.1 V EMF
// at 50 Ω is −13.01 dBm, 1 µV of it −113.01 dBm).
func (s source) dBm(x float64, unit string) (float64, error) {
	switch unit {
	case "dBm":
		return x, nil
	case "dBµV":
		return s.ofEMF(1e-6 * math.Pow(10, x/20) * s.double()), nil
	case "V":
		if x <= 0 {
			return 0, fmt.Errorf("%g V", x)
		}
		return s.ofEMF(x * s.double()), nil
	}
	return 0, fmt.Errorf("input levels in %q", unit)
}

// double is the EMF per volt shown.
func (s source) double() float64 {
	if s.pd {
		return 2
	}
	return 1
}

// ofEMF is the available power in dBm of an EMF in volts.
func (s source) ofEMF(v float64) float64 { return 10 * math.Log10(v*v/(4*s.ohm)*1e3) }

// emf is the EMF in volts of an available power in dBm.
func (s source) emf(dBm float64) float64 { return 2 * math.Sqrt(1e-3*math.Pow(10, dBm/10)*s.ohm) }

// outputDB is an output reading in dB against some fixed reference: an AGC
// figure only ever takes differences of it.
func outputDB(x float64, unit string) (float64, error) {
	switch unit {
	case "dB", "dBFS", "dBV", "dBm":
		return x, nil
	case "V":
		if x <= 0 {
			return 0, fmt.Errorf("%g V", x)
		}
		return 20 * math.Log10(x), nil
	case "W":
		if x <= 0 {
			return 0, fmt.Errorf("%g W", x)
		}
		return 10 * math.Log10(x), nil
	}
	return 0, fmt.Errorf("output readings in %q", unit)
}
