package superhet

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"setwright/quantity"
)

func standard(t *testing.T) Dummy {
	t.Helper()
	d, err := FindDummy("standard")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestDummyAntennaTable(t *testing.T) {
	d := standard(t)
	for _, r := range rows(t, "rf-dummy-antenna.csv") {
		hz := 1e6 * number(t, r, "f_MHz")
		z := d.Impedance(hz)
		printed(t, r, "R_ohm", real(z))
		printed(t, r, "X_ohm", imag(z))
		printed(t, r, "Zmag_ohm", cmplx.Abs(z))
		printed(t, r, "phase_deg", cmplx.Phase(z)*180/math.Pi)
		if r["equivalent_series_C_pF"] != "" {
			printed(t, r, "equivalent_series_C_pF", -1e12/(2*math.Pi*hz*imag(z)))
		}
	}
}

// TestDummyAntennaRows: the reactance crosses zero at 5.101 MHz, where 344.6 ohm
// are left; the least impedance is 221.7 ohm at 2.2 MHz.
func TestDummyAntennaRows(t *testing.T) {
	d := standard(t)
	near(t, "X at 5.101 MHz", imag(d.Impedance(5.101e6)), 0, 0.02)
	near(t, "R at 5.101 MHz", real(d.Impedance(5.101e6)), 344.6, 0.05)
	least, at := math.Inf(1), 0.0
	for hz := 0.15e6; hz < 30e6; hz += 1e4 {
		if z := cmplx.Abs(d.Impedance(hz)); z < least {
			least, at = z, hz
		}
	}
	near(t, "least impedance", least, 221.7, 0.06)
	near(t, "where", at, 2.2e6, 0.05e6)
	near(t, "older rule: 200 pF low down", -1e12/(2*math.Pi*0.3e6*imag(d.Impedance(0.3e6))), 203, 0.1)
	near(t, "older rule: 400 ohm high up", cmplx.Abs(d.Impedance(25e6)), 400, 3)
}

// TestArrival follows a level through pad and dummy antenna: the EMF is the
// generator's less the pad, the available power is less by the larger source
// resistance.
func TestArrival(t *testing.T) {
	d := standard(t)
	p := Path{PadDB: quantity.Exact(20), Dummy: d, LoadOhm: 400, Hz: 10e6}
	a, err := p.Arrive(Level{quantity.Exact(-53), 50})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "EMF in µV: S9 behind 20 dB", 1e6*a.EMF.Estimate(), 100.12, 5e-3)
	near(t, "R of generator and network", real(a.Source), 50+384.99, 5e-3)
	near(t, "available dBm", a.DBm.Estimate(), -73-10*math.Log10(434.99/50), 1e-3)
	near(t, "PD in µV", 1e6*a.PD.Estimate(), 100.12*400/cmplx.Abs(complex(834.99, 5.88)), 5e-3)
	if _, err := (Path{Dummy: d}).Arrive(Level{quantity.Exact(-53), 50}); err == nil || !strings.Contains(err.Error(), "frequency") {
		t.Errorf("without a frequency: %v", err)
	}
	if _, err := FindDummy("wet string"); err == nil || !strings.Contains(err.Error(), "standard") {
		t.Errorf("an unknown dummy: %v", err)
	}
}

// TestDummyTolerance: parts of 5 % move the available power, each by its own
// source, and the EMF not at all.
func TestDummyTolerance(t *testing.T) {
	d := standard(t)
	d.Tolerance = 0.05
	a, err := Path{Dummy: d, LoadOhm: 300, Hz: 10e6}.Arrive(Level{quantity.Exact(-73), 50})
	if err != nil {
		t.Fatal(err)
	}
	if a.EMF.U() != 0 {
		t.Errorf("the network changes the EMF by %g", a.EMF.U())
	}
	// nearly all of R at 10 MHz is the 400 ohm; coil and capacitor take some of
	// it back, the first capacitor has no part in R
	if u := a.DBm.U(); u < 0.1 || u > 10/math.Ln10*0.05*385/435 {
		t.Errorf("available power is uncertain by %g dB", u)
	}
	if n := len(a.DBm.Contributions()); n != 3 {
		t.Errorf("%d sources, expected one for each part that R depends on", n)
	}
	if a.PD.U() <= 0 {
		t.Error("the PD depends on the network")
	}
}
