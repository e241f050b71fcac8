package superhet

import (
	"errors"

	"setwright/quantity"
)

// Path is what lies between generator and receiver.
type Path struct {
	PadDB quantity.Value // loss of pads made for the generator's resistance
	Dummy Dummy
	// LoadOhm is the input impedance of the receiver, 0 where it is not known.
	LoadOhm complex128
	Hz      float64 // 0 where not known
}

// Arrival is what the receiver is offered, and what it gets.
type Arrival struct {
	EMF    quantity.Value // V, behind pad and dummy antenna
	Source complex128     // ohms, of generator and dummy together
	DBm    quantity.Value // available from that source
	// PD is the voltage in volts across the receiver's input; undefined where
	// its impedance is not known.
	PD quantity.Value
	// LossDB is how much less power the load takes than is available.
	LossDB float64
}

// HasLoad says whether the receiver's impedance is known.
func (p Path) HasLoad() bool { return p.LoadOhm != 0 }

// Arrive returns what becomes of a generator's level. The EMF behind a dummy
// antenna is that of the generator: a network in series does not change it.
func (p Path) Arrive(l Level) (Arrival, error) {
	if p.Dummy.network == nil {
		p.Dummy = dummies[0]
	}
	if p.Dummy.NeedsFrequency() && !(p.Hz > 0) {
		return Arrival{}, errors.New("the standard dummy antenna changes with frequency: say at which one it was used")
	}
	behind := l.Behind(p.PadDB)
	emf := behind.EMF()
	a := Arrival{EMF: emf, Source: complex(l.SourceOhm, 0) + p.Dummy.Impedance(p.Hz), PD: quantity.Undefined()}
	a.DBm = AvailableDBm(emf, p.Dummy.Resistance(l.SourceOhm, p.Hz))
	if p.HasLoad() {
		a.PD = emf.Mul(p.Dummy.Across(l.SourceOhm, p.LoadOhm, p.Hz))
		a.LossDB = MismatchLoss(a.Source, p.LoadOhm)
	}
	return a, nil
}
