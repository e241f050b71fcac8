package quantity

import (
	"math"

	"pgregory.net/rapid"
)

// Generators and comparisons shared by the property tests.

// benchSources are what two figures of one bench may share.
var benchSources = []Source{
	{ID: "instrument/counter-1/2026-03/frequency", Name: "counter time base"},
	{ID: "instrument/generator-1/2026-03/level/-107dBm", Name: "attenuator at -107 dBm", DoF: 8},
	{ID: "instrument/meter-1/2025-11/voltage/250V", Name: "meter, 250 V range", DoF: 2.5},
	{ID: "run/7/noise", Name: "noise of the run", DoF: 17},
	{ID: "run/8/noise", Name: "noise of the run", DoF: 5},
}

func drawValue(t *rapid.T, label string) Value {
	estimate := rapid.Float64Range(-1e7, 1e7).Draw(t, label)
	var parts []Contribution
	for _, s := range benchSources {
		if rapid.Bool().Draw(t, label+" has "+s.ID) {
			parts = append(parts, Contribution{Source: s, C: rapid.Float64Range(-1e3, 1e3).Draw(t, "c")})
		}
	}
	return New(estimate, parts...)
}

func drawPositive(t *rapid.T, label string) Value {
	v := drawValue(t, label)
	x := rapid.Float64Range(1e-3, 1e6).Draw(t, label+" size")
	return New(x, v.Contributions()...)
}

// near compares estimates and every contribution, allowing rounding errors of
// numbers as large as scale.
func near(a, b Value, scale float64) bool {
	tol := 1e-12 * math.Max(scale, 1)
	if math.Abs(a.Estimate()-b.Estimate()) > tol {
		return false
	}
	for _, e := range Shared(a, b) {
		if math.Abs(e.A-e.B) > tol {
			return false
		}
	}
	return true
}

func size(values ...Value) float64 {
	s := 0.0
	for _, v := range values {
		s = math.Max(s, math.Abs(v.Estimate())+v.U())
	}
	return s
}
