package agc

import (
	"fmt"
	"math"

	"setwright/quantity"
	"setwright/superhet"
)

// source is the generator as a source of level: its resistance, and whether its
// volts are those of the EMF or across a matched load ("" where nobody says).
type source struct {
	ohm   float64
	volts string
}

// dBm is the available power of what the generator shows.
func (s source) dBm(x float64, unit string) (float64, error) {
	l, err := superhet.Reading{SourceOhm: s.ohm, Volts: s.volts}.Of(quantity.Exact(x), unit)
	if err != nil {
		return 0, err
	}
	return l.DBm.Estimate(), nil
}

// saysWhich says whether a level in a unit, above zero where it is in volts, can
// be read.
func (s source) saysWhich(x float64, unit string) bool {
	return s.volts != "" || unit == "dBm" || unit == "V" && x <= 0
}

// ofEMF is the available power in dBm of an EMF in volts.
func (s source) ofEMF(v float64) float64 {
	return superhet.AvailableDBm(quantity.Exact(v), quantity.Exact(s.ohm)).Estimate()
}

// emf is the EMF in volts of an available power in dBm.
func (s source) emf(dBm float64) float64 {
	return superhet.Level{DBm: quantity.Exact(dBm), SourceOhm: s.ohm}.EMF().Estimate()
}

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
