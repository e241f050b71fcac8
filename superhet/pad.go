package superhet

import (
	"fmt"
	"math"
	"math/cmplx"

	"setwright/quantity"
)

// The shapes of a pad.
const (
	ShapeT       = "T"
	ShapePi      = "pi"
	ShapeMinimum = "minimum loss"
)

// Pad is a resistive attenuator with its resistors in ohms, from the source's
// side to the load's: of a T series, shunt, series; of a pi shunt, series,
// shunt; of a minimum-loss pad the series resistor on the side of the larger
// impedance, then the shunt.
type Pad struct {
	Shape  string
	R      []float64
	Z1, Z2 float64 // made to go between
}

// checkImpedances refuses what is no resistance.
func checkImpedances(z1, z2 float64) error {
	for _, z := range []float64{z1, z2} {
		if !(z > 0) {
			return fmt.Errorf("found an impedance of %g ohm, expected more than zero", z)
		}
		if z < 1/mostOhm || z > mostOhm {
			return fmt.Errorf("found an impedance of %g ohm, expected %g to %g ohm", z, 1/mostOhm, mostOhm)
		}
	}
	return nil
}

// What pads are worked out for: beyond this the formulas run out of digits, and
// resistors out of sense long before.
const (
	mostOhm    = 1e9
	mostLossDB = 200
)

// NewPad returns a T or pi pad of a loss in dB between two impedances in ohms,
// matched at both ends. Equal impedances: series Z(K−1)/(K+1) and shunt
// 2ZK/(K²−1) of a T, the duals of a pi (Bird, chapter 41). Unequal ones need at
// least [MinimumLoss].
func NewPad(shape string, lossDB, z1, z2 float64) (Pad, error) {
	if err := checkImpedances(z1, z2); err != nil {
		return Pad{}, err
	}
	least := MinimumLoss(z1, z2)
	if lossDB > mostLossDB {
		return Pad{}, fmt.Errorf("found a loss of %g dB, expected up to %d dB", lossDB, mostLossDB)
	}
	if !(lossDB > 0) || lossDB < least-1e-9 {
		return Pad{}, fmt.Errorf("found a loss of %g dB, expected more than %s dB between %g and %g ohm", lossDB, atLeast(least), z1, z2)
	}
	n := math.Pow(10, lossDB/10)
	coth := (n + 1) / (n - 1)
	switch shape {
	case ShapeT:
		shunt := 2 * math.Sqrt(n*z1*z2) / (n - 1)
		return Pad{ShapeT, []float64{noLess(z1*coth - shunt), shunt, noLess(z2*coth - shunt)}, z1, z2}, nil
	case ShapePi:
		bridge := 2 * math.Sqrt(n/(z1*z2)) / (n - 1) // conductances: the dual
		return Pad{ShapePi, []float64{1 / noLess(coth/z1-bridge), 1 / bridge, 1 / noLess(coth/z2-bridge)}, z1, z2}, nil
	}
	return Pad{}, fmt.Errorf("found a pad of shape %q, expected %s or %s", shape, ShapeT, ShapePi)
}

func atLeast(db float64) string {
	if db == 0 {
		return "0"
	}
	return fmt.Sprintf("%.2f", db)
}

// noLess keeps a resistance of the least loss from being a rounding below zero.
func noLess(r float64) float64 { return math.Max(r, 0) }

// MinimumLoss returns the least loss in dB of a resistive pad that matches two
// impedances in ohms: 20 lg(sqrt(Z1/Z2) + sqrt(Z1/Z2 − 1)) with Z1 the larger.
func MinimumLoss(z1, z2 float64) float64 {
	q := math.Max(z1, z2) / math.Min(z1, z2)
	return 20 * math.Log10(math.Sqrt(q)+math.Sqrt(q-1))
}

// MinimumLossPad returns the pad that matches two unequal impedances with the
// least loss: series sqrt(Z1(Z1−Z2)) at the larger, shunt Z2·sqrt(Z1/(Z1−Z2))
// across the smaller.
func MinimumLossPad(z1, z2 float64) (Pad, error) {
	if err := checkImpedances(z1, z2); err != nil {
		return Pad{}, err
	}
	if z1 == z2 {
		return Pad{}, fmt.Errorf("found equal impedances of %g ohm, expected unequal ones: equal ones need no pad to match", z1)
	}
	large, small := math.Max(z1, z2), math.Min(z1, z2)
	return Pad{ShapeMinimum, []float64{math.Sqrt(large * (large - small)), small * math.Sqrt(large/(large-small))}, z1, z2}, nil
}

// From returns the pad with each resistor the nearest of a series.
func (p Pad) From(s Series) Pad {
	out := p
	out.R = make([]float64, len(p.R))
	for i, r := range p.R {
		out.R[i] = r
		if r > 0 && !math.IsInf(r, 1) {
			out.R[i] = s.Nearest(r)
		}
	}
	return out
}

// chain is the ABCD matrix of a two-port.
type chain struct{ a, b, c, d float64 }

func (m chain) then(n chain) chain {
	return chain{m.a*n.a + m.b*n.c, m.a*n.b + m.b*n.d, m.c*n.a + m.d*n.c, m.c*n.b + m.d*n.d}
}

func series(ohm float64) chain { return chain{1, ohm, 0, 1} }
func shunt(ohm float64) chain  { return chain{1, 0, 1 / ohm, 1} }

// matrix is the pad from source to load.
func (p Pad) matrix(r []float64) chain {
	switch {
	case p.Shape == ShapeT && len(r) == 3:
		return series(r[0]).then(shunt(r[1])).then(series(r[2]))
	case p.Shape == ShapePi && len(r) == 3:
		return shunt(r[0]).then(series(r[1])).then(shunt(r[2]))
	case len(r) == 2 && p.Z1 > p.Z2:
		return series(r[0]).then(shunt(r[1]))
	case len(r) == 2:
		return shunt(r[1]).then(series(r[0]))
	}
	return chain{1, 0, 0, 1}
}

// Loss returns the loss in dB between a source and a load in ohms: available
// power of the source over power in the load, whatever the two are.
func (p Pad) Loss(sourceOhm, loadOhm float64) float64 {
	return p.loss(p.R, sourceOhm, loadOhm)
}

func (p Pad) loss(r []float64, zs, zl float64) float64 {
	m := p.matrix(r)
	return 20 * math.Log10(math.Abs(m.a*zl+m.b+m.c*zs*zl+m.d*zs)/(2*math.Sqrt(zs*zl)))
}

// InsertionLoss returns by how many dB the power in the load falls when the pad
// is put between a source and a load that were joined directly.
func (p Pad) InsertionLoss(sourceOhm, loadOhm float64) float64 {
	return p.Loss(sourceOhm, loadOhm) - MismatchLoss(complex(sourceOhm, 0), complex(loadOhm, 0))
}

// LossValue is [Pad.Loss] with the tolerance of each resistor as a source:
// limits of a rectangular distribution, as a fraction.
func (p Pad) LossValue(sourceOhm, loadOhm, tolerance float64) quantity.Value {
	v := quantity.Exact(p.Loss(sourceOhm, loadOhm))
	for i, r := range p.R {
		const step = 1e-4
		if tolerance == 0 || r == 0 || math.IsInf(r, 1) {
			continue
		}
		up, down := append([]float64(nil), p.R...), append([]float64(nil), p.R...)
		up[i], down[i] = r*(1+step), r*(1-step)
		slope := (p.loss(up, sourceOhm, loadOhm) - p.loss(down, sourceOhm, loadOhm)) / (2 * step)
		key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: "pad", Quantity: fmt.Sprintf("resistor %d", i+1), Cell: fmt.Sprintf("%g", r)}
		name := fmt.Sprintf("resistor %d of the pad", i+1)
		v = v.With(quantity.Contribution{Source: key.Source(name, 0), C: slope * quantity.RectangularU(2*tolerance)})
	}
	return v
}

// InputOhm returns the resistance seen by the source with a load in ohms at the
// other end.
func (p Pad) InputOhm(loadOhm float64) float64 {
	m := p.matrix(p.R)
	return (m.a*loadOhm + m.b) / (m.c*loadOhm + m.d)
}

// OutputOhm returns the resistance seen by the load with a source in ohms at
// the other end.
func (p Pad) OutputOhm(sourceOhm float64) float64 {
	m := p.matrix(p.R)
	return (m.d*sourceOhm + m.b) / (m.c*sourceOhm + m.a)
}

// ReturnLoss returns 20 lg|(Z+Z0)/(Z−Z0)| in dB, infinite for a match.
func ReturnLoss(ohm, wantedOhm float64) float64 {
	return 20 * math.Log10(math.Abs((ohm+wantedOhm)/(ohm-wantedOhm)))
}

// MismatchLoss returns how many dB less than is available a load takes from a
// source: |ZS+ZL|²/(4·Re ZS·Re ZL), impedances in ohms.
func MismatchLoss(source, load complex128) float64 {
	return 10 * math.Log10(math.Pow(cmplx.Abs(source+load), 2)/(4*real(source)*real(load)))
}
