package superhet

import (
	"fmt"
	"math"
	"strings"

	"setwright/quantity"
)

// Dummy is a dummy antenna: what stands in series between generator and
// receiver. Tolerance is one standard uncertainty of each of its parts, as a
// fraction.
type Dummy struct {
	ID, Title string
	Tolerance float64
	parts     []part
	network   func(parts []float64, hz float64) complex128
}

// part is one component with its nominal value in SI units.
type part struct {
	name    string
	nominal float64
}

// dummies are those that can be named.
var dummies = []Dummy{
	{ID: "none", Title: "none", network: func([]float64, float64) complex128 { return 0 }},
	{ID: "standard", Title: "standard network (200 pF; 20 µH across 400 pF and 400 Ω)",
		parts:   []part{{"series capacitor", 200e-12}, {"coil", 20e-6}, {"second capacitor", 400e-12}, {"resistor", 400}},
		network: standardNetwork},
	{ID: "400", Title: "400 Ω in series", parts: []part{{"resistor", 400}},
		network: func(p []float64, _ float64) complex128 { return complex(p[0], 0) }},
}

// standardNetwork is 200 pF in series with 20 µH, across which lie 400 pF and
// 400 ohm in series.
func standardNetwork(p []float64, hz float64) complex128 {
	w := 2 * math.Pi * hz
	first := complex(0, -1/(w*p[0]))
	coil := complex(0, w*p[1])
	branch := complex(p[3], -1/(w*p[2]))
	return first + coil*branch/(coil+branch)
}

// FindDummy returns a dummy antenna by its name: none, standard, 400.
func FindDummy(name string) (Dummy, error) {
	for _, d := range dummies {
		if d.ID == strings.ToLower(strings.TrimSpace(name)) {
			return d, nil
		}
	}
	return Dummy{}, fmt.Errorf("found %q, expected one of %s", name, strings.Join(DummyNames(), ", "))
}

// DummyNames returns the names that [FindDummy] knows.
func DummyNames() []string {
	var out []string
	for _, d := range dummies {
		out = append(out, d.ID)
	}
	return out
}

// NeedsFrequency says whether the impedance depends on frequency.
func (d Dummy) NeedsFrequency() bool { return d.ID == "standard" }

// Impedance returns the impedance of the network alone in ohms at a frequency
// in hertz above zero.
func (d Dummy) Impedance(hz float64) complex128 { return d.network(d.nominal(), hz) }

func (d Dummy) nominal() []float64 {
	out := make([]float64, len(d.parts))
	for i, p := range d.parts {
		out[i] = p.nominal
	}
	return out
}

// Resistance returns the real part of generator and dummy together, in ohms,
// with the tolerance of each part as a source.
func (d Dummy) Resistance(sourceOhm, hz float64) quantity.Value {
	return d.value(func(z complex128) float64 { return sourceOhm + real(z) }, hz)
}

// Across returns what part of the EMF stands across a load behind generator and
// dummy, with the tolerance of each part as a source.
func (d Dummy) Across(sourceOhm float64, load complex128, hz float64) quantity.Value {
	return d.value(func(z complex128) float64 { return Divide(complex(sourceOhm, 0)+z, load) }, hz)
}

// value is a function of the impedance with what each part's tolerance does to
// it.
func (d Dummy) value(f func(complex128) float64, hz float64) quantity.Value {
	nominal := d.nominal()
	v := quantity.Exact(f(d.network(nominal, hz)))
	if d.Tolerance == 0 {
		return v
	}
	for i, p := range d.parts {
		const step = 1e-4
		up, down := d.nominal(), d.nominal()
		up[i], down[i] = p.nominal*(1+step), p.nominal*(1-step)
		slope := (f(d.network(up, hz)) - f(d.network(down, hz))) / (2 * step)
		key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: "dummy antenna " + d.ID, Quantity: p.name}
		v = v.With(quantity.Contribution{Source: key.Source(p.name+" of the dummy antenna", 0), C: slope * d.Tolerance})
	}
	return v
}
