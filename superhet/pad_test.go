package superhet

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func pad(t *testing.T, shape string, db, z1, z2 float64) Pad {
	t.Helper()
	p, err := NewPad(shape, db, z1, z2)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPadTable(t *testing.T) {
	for _, r := range rows(t, "rf-attenuators.csv") {
		z := number(t, r, "Z_ohm")
		p := pad(t, r["type"], number(t, r, "dB"), z, z)
		inner, outer := p.R[1], p.R[0]
		shuntOhm, seriesOhm := inner, outer
		if p.Shape == ShapePi {
			shuntOhm, seriesOhm = outer, inner
		}
		printed(t, r, "shunt_exact_ohm", shuntOhm)
		printed(t, r, "series_exact_ohm", seriesOhm)
		near(t, "shunt of E24", E24.Nearest(shuntOhm), number(t, r, "shunt_E24"), 1e-9)
		near(t, "series of E24", E24.Nearest(seriesOhm), number(t, r, "series_E24"), 1e-9)
		real := p.From(E24)
		printed(t, r, "dB_with_E24", real.Loss(z, z))
		printed(t, r, "Rin_with_E24", real.InputOhm(z))
		printed(t, r, "return_loss_dB", ReturnLoss(real.InputOhm(z), z))
	}
}

// TestPadRows holds the single pads of the reference.
func TestPadRows(t *testing.T) {
	for _, c := range []struct {
		what                    string
		p                       Pad
		outer, inner, tol, tol2 float64
	}{
		{"Bird/FEEE: T, 10 dB, 50 ohm", pad(t, ShapeT, 10, 50, 50), 25.975, 35.136, 5.1e-4, 5.1e-4},
		{"Roddy 1.2.2: T, 6 dB, 50 ohm (exact)", pad(t, ShapeT, 6, 50, 50), 16.614, 66.931, 5.1e-4, 5.1e-4},
		{"Roddy 1.2.3: pi, 6 dB, 50 ohm", pad(t, ShapePi, 6, 50, 50), 150.476, 37.352, 5.1e-4, 5.1e-4},
		{"Bird ex. 8: T, 20 dB, 600 ohm (printed 491, 121.5)", pad(t, ShapeT, 20, 600, 600), 490.9, 121.21, 0.051, 5.1e-3},
		{"Bird ex. 9: pi, 20 dB, 600 ohm", pad(t, ShapePi, 20, 600, 600), 733.3, 2970, 0.051, 0.51},
	} {
		near(t, c.what, c.p.R[0], c.outer, c.tol)
		near(t, c.what, c.p.R[1], c.inner, c.tol2)
	}
	bird10 := Pad{Shape: ShapeT, R: []float64{300, 450, 300}, Z1: 600, Z2: 600}
	near(t, "Bird ex. 10: T of 300 and 450 ohm is matched at 600", bird10.InputOhm(600), 600, 1e-9)
	near(t, "Bird ex. 10: its loss", bird10.Loss(600, 600), 9.54, 5.1e-3)
}

func TestMinimumLossRows(t *testing.T) {
	for _, c := range []struct{ z1, z2, series, shunt, db, tol float64 }{
		{75, 50, 43.30, 86.60, 5.719, 5.1e-4}, {300, 50, 273.9, 54.77, 13.42, 5.1e-3},
		{400, 50, 374.2, 53.45, 14.77, 5.1e-3}, {300, 75, 259.8, 86.60, 11.44, 5.1e-3},
		{50, 10, 44.72, 11.18, 9.987 + 2.553, 2e-3}, // Roddy 1.2.5: 9.987 over a direct joint that loses 2.553
	} {
		p, err := MinimumLossPad(c.z1, c.z2)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "series", p.R[0], c.series, 0.051)
		near(t, "shunt", p.R[1], c.shunt, 5.1e-3)
		near(t, "loss", MinimumLoss(c.z1, c.z2), c.db, c.tol)
		near(t, "loss of the network itself", p.Loss(c.z1, c.z2), MinimumLoss(c.z1, c.z2), 1e-9)
		near(t, "matched in front", p.InputOhm(c.z2), c.z1, 1e-9)
		near(t, "matched behind", p.OutputOhm(c.z1), c.z2, 1e-9)
		turned, err := MinimumLossPad(c.z2, c.z1)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "turned round", turned.Loss(c.z2, c.z1), p.Loss(c.z1, c.z2), 1e-9)
	}
	p, _ := MinimumLossPad(75, 50)
	near(t, "Roddy 1.2.4, right: against the direct joint", p.InsertionLoss(75, 50), 5.542, 5.1e-4)
	ten, _ := MinimumLossPad(10, 50)
	near(t, "Roddy 1.2.5", ten.InsertionLoss(10, 50), 9.987, 5.1e-4)
	if _, err := MinimumLossPad(50, 50); err == nil {
		t.Error("equal impedances need no pad")
	}
}

// TestPadsAreMatched: any T or pi between any two impedances has its loss, and
// is matched at both ends.
func TestPadsAreMatched(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z1 := rapid.Float64Range(10, 1000).Draw(t, "z1")
		z2 := rapid.Float64Range(10, 1000).Draw(t, "z2")
		db := MinimumLoss(z1, z2) + rapid.Float64Range(0.1, 60).Draw(t, "more")
		p, err := NewPad(rapid.SampledFrom([]string{ShapeT, ShapePi}).Draw(t, "shape"), db, z1, z2)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.Loss(z1, z2)-db) > 1e-6 || math.Abs(p.InputOhm(z2)/z1-1) > 1e-6 || math.Abs(p.OutputOhm(z1)/z2-1) > 1e-6 {
			t.Fatalf("%+v: %g dB, %g and %g ohm", p, p.Loss(z1, z2), p.InputOhm(z2), p.OutputOhm(z1))
		}
	})
}

func TestPadsAreRefused(t *testing.T) {
	for _, c := range []struct{ db, z1, z2 float64 }{{0, 50, 50}, {-3, 50, 50}, {5, 75, 50}, {10, 0, 50}, {math.NaN(), 50, 50}, {10, math.Inf(1), 50}} {
		if _, err := NewPad(ShapeT, c.db, c.z1, c.z2); err == nil || !strings.Contains(err.Error(), "expected") {
			t.Errorf("%+v: %v", c, err)
		}
	}
	if _, err := NewPad("ladder", 10, 50, 50); err == nil {
		t.Error("an unknown shape was taken")
	}
}

// TestPadTolerance: resistors of 5 % leave a pad of 20 dB good to about a
// quarter of a decibel.
func TestPadTolerance(t *testing.T) {
	v := pad(t, ShapePi, 20, 50, 50).From(E24).LossValue(50, 50, 0.05)
	near(t, "loss", v.Estimate(), 19.680, 5.1e-4)
	if len(v.Contributions()) != 3 || v.U() < 0.15 || v.U() > 0.4 {
		t.Errorf("%v from %d resistors", v, len(v.Contributions()))
	}
}

func TestPreferredValues(t *testing.T) {
	have := map[string][]float64{}
	for _, r := range rows(t, "valve-eseries.csv") {
		have[r["series"]] = append(have[r["series"]], number(t, r, "value"))
	}
	for _, s := range []Series{E12, E24, E96} {
		want := have[s.String()]
		got := s.Values()
		if len(want) != int(s) || len(got) != len(want) {
			t.Fatalf("%v: %d values, %d in the table", s, len(got), len(want))
		}
		for i := range want {
			near(t, s.String(), got[i], want[i], 1e-12)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := math.Pow(10, rapid.Float64Range(-3, 7).Draw(t, "lg"))
		near := E24.Nearest(x)
		if math.Abs(near/x-1) > 0.08 || E24.Nearest(near) != near {
			t.Fatalf("nearest to %g is %g, and to that %g", x, near, E24.Nearest(near))
		}
	})
	for _, x := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if !math.IsNaN(E24.Nearest(x)) {
			t.Errorf("nearest to %g is %g", x, E24.Nearest(x))
		}
	}
}

// TestPadRefused: what is no pad, or none that can be worked out.
func TestPadRefused(t *testing.T) {
	for _, c := range []struct{ loss, z1, z2 float64 }{
		{5000, 50, 50}, {math.Inf(1), 50, 50}, {math.NaN(), 50, 50}, {0, 50, 50}, {-3, 50, 50}, {3, 75, 300},
		{20, 0, 50}, {20, -1, 50}, {20, 50, 1e300}, {20, 1e-300, 50}, {20, math.NaN(), 50},
	} {
		if p, err := NewPad(ShapePi, c.loss, c.z1, c.z2); err == nil {
			t.Errorf("%+v: %+v", c, p)
		}
	}
	if p, err := MinimumLossPad(1e300, 1e-300); err == nil {
		t.Errorf("%+v", p)
	}
}
