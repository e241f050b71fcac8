package quantity

import "math"

// A level in decibels is ten times the decimal logarithm of a ratio of powers,
// and twenty times that of voltages or currents in equal resistances (IEC
// 60027-3, from memory). The two are kept apart by name.

// PowerRatioDB returns 10·lg(v) for a ratio v of two powers, undefined for
// v <= 0.
func (v Value) PowerRatioDB() Value { return v.levelOf(10) }

// VoltageRatioDB returns 20·lg(v) for a ratio v of two voltages or two
// currents, undefined for v <= 0.
func (v Value) VoltageRatioDB() Value { return v.levelOf(20) }

// PowerRatio returns the ratio of powers 10^(v/10) of a level v in dB.
func (v Value) PowerRatio() Value { return v.ratioOf(10) }

// VoltageRatio returns the ratio of voltages 10^(v/20) of a level v in dB.
func (v Value) VoltageRatio() Value { return v.ratioOf(20) }

func (v Value) levelOf(k float64) Value {
	return v.apply(k*math.Log10(v.estimate), k/(v.estimate*math.Ln10))
}

func (v Value) ratioOf(k float64) Value {
	r := math.Pow(10, v.estimate/k)
	return v.apply(r, r*math.Ln10/k)
}
