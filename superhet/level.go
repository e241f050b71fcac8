package superhet

import (
	"math"
	"math/cmplx"

	"setwright/quantity"
)

// Level is what a generator is set to: the available power in dBm, and the
// resistance in ohms it has as a source.
type Level struct {
	DBm       quantity.Value
	SourceOhm float64
}

// FromEMF returns the level of an open-circuit voltage in volts.
func FromEMF(volts quantity.Value, sourceOhm float64) Level {
	return Level{AvailableDBm(volts, quantity.Exact(sourceOhm)), sourceOhm}
}

// FromPD returns the level of a voltage across a matched load, in volts.
func FromPD(volts quantity.Value, sourceOhm float64) Level {
	return FromEMF(volts.Scale(2), sourceOhm)
}

// EMF returns the open-circuit voltage in volts: 2·sqrt(P·R).
func (l Level) EMF() quantity.Value {
	return l.DBm.VoltageRatio().Scale(2 * math.Sqrt(1e-3*l.SourceOhm))
}

// MatchedPD returns the voltage in volts across a load equal to the source.
func (l Level) MatchedPD() quantity.Value { return l.EMF().Scale(0.5) }

// Behind returns the level behind a loss in dB that keeps the source
// resistance: a pad made for it.
func (l Level) Behind(lossDB quantity.Value) Level {
	return Level{l.DBm.Sub(lossDB), l.SourceOhm}
}

// AvailableDBm returns the available power in dBm of an open-circuit voltage in
// volts behind a resistance in ohms (the real part of an impedance): E²/4R.
func AvailableDBm(emfV, sourceOhm quantity.Value) quantity.Value {
	return emfV.VoltageRatioDB().Sub(sourceOhm.PowerRatioDB()).Shift(30 - 10*math.Log10(4))
}

// PDdBm returns the power in dBm that a voltage in volts brings into a load in
// ohms: V²/R.
func PDdBm(volts quantity.Value, loadOhm float64) quantity.Value {
	return volts.VoltageRatioDB().Shift(30 - 10*math.Log10(loadOhm))
}

// DBuV returns a voltage in volts as a level re 1 µV.
func DBuV(volts quantity.Value) quantity.Value { return volts.VoltageRatioDB().Shift(120) }

// Volts returns a level re 1 µV as a voltage in volts.
func Volts(dbuV quantity.Value) quantity.Value { return dbuV.Shift(-120).VoltageRatio() }

// Divide returns by what an open-circuit voltage is multiplied across a load:
// |ZL/(ZS + ZL)|.
func Divide(source, load complex128) float64 { return cmplx.Abs(load / (source + load)) }
