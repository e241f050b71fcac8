package noise

import (
	"errors"
	"math"
	"strings"
	"testing"

	"setwright/quantity"
)

func TestExternalNoiseTable(t *testing.T) {
	for _, r := range rows(t, "rf-external-noise.csv") {
		hz := 1e6 * number(t, r, "f_MHz")
		p, err := FindSurroundings(r["environment"])
		if err != nil {
			t.Fatal(err)
		}
		printed(t, r, "c", p.C)
		printed(t, r, "d", p.D)
		fam, err := p.Median(hz)
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		printed(t, r, "Fam_dB", fam)
		for width, name := range map[float64]string{500: "500Hz", 3000: "3kHz", 6000: "6kHz"} {
			level := PowerDBm(fam, width)
			printed(t, r, "P"+name+"_dBm", level)
			printed(t, r, "uV50_"+name, microvolts(level))
		}
		// the constant of the table is the derived 95.51, of the formula 95.5
		near(t, "field strength", FieldStrength(fam, hz, 3000), number(t, r, "E3kHz_dBuV_per_m_short_monopole"), 0.07)
		printed(t, r, "receiver_NF_for_1dB_rise", FigureForRise(fam, 1))
		printed(t, r, "receiver_NF_for_3dB_rise", FigureForRise(fam, 3))
	}
}

// TestExternalNoiseRows holds what the table does not: deciles, ranges, and the
// power sum with galactic noise (CHECKED: 26.88 dB at 14 MHz, 19.59 at 28).
func TestExternalNoiseRows(t *testing.T) {
	for id, want := range map[string][2]float64{"city": {11, 6.7}, "residential": {10.6, 5.3}, "rural": {9.2, 4.6}, "quiet rural": {9.2, 4.6}, "galactic": {2, 2}} {
		p, err := FindSurroundings(id)
		if err != nil {
			t.Fatal(err)
		}
		if p.UpperDB != want[0] || p.LowerDB != want[1] {
			t.Errorf("%s: deciles %g and %g, expected %v", id, p.UpperDB, p.LowerDB, want)
		}
	}
	quiet, _ := FindSurroundings("quiet_rural")
	for hz, want := range map[float64]float64{14e6: 26.88, 28e6: 19.59} {
		e, err := quiet.At(hz)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "with galactic noise", e.MedianDB, want, 5e-3)
		if len(e.Parts) != 2 || e.Parts[0].Place.ID != galactic || e.UpperDB != 2 {
			t.Errorf("at %g Hz the sky is the stronger part: %+v", hz, e)
		}
	}
	e, err := quiet.At(7e6)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "7 MHz, below the critical frequency", e.MedianDB, 29.43, 5e-3)
	near(t, "one occasion about the median", e.Value().U(), (9.2+4.6)/2/1.28155, 1e-4)
	// the reference's rounded column: noise figure for one more dB
	for hz, want := range map[float64]float64{0.5e6: 56, 3.5e6: 32, 7e6: 24, 14e6: 21, 28e6: 14} {
		e, err := quiet.At(hz)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "figure for 1 dB", FigureForRise(e.MedianDB, 1), want, 0.51)
	}
}

func TestExternalNoiseIsRefusedOutsideItsRange(t *testing.T) {
	for _, c := range []struct {
		id string
		hz float64
	}{{"city", 0.2e6}, {"city", 251e6}, {"quiet rural", 31e6}, {"galactic", 9e6}, {"rural", math.NaN()}} {
		p, err := FindSurroundings(c.id)
		if err != nil {
			t.Fatal(err)
		}
		var out *RangeError
		if _, err := p.At(c.hz); !errors.As(err, &out) || !strings.Contains(err.Error(), "expected") {
			t.Errorf("%s at %g Hz: %v", c.id, c.hz, err)
		}
	}
	if _, err := FindSurroundings("moon"); err == nil || !strings.Contains(err.Error(), "residential") {
		t.Errorf("an unknown place: %v", err)
	}
}

// TestSystem: without losses it is the sum of both noises; a 3 dB line at T0
// doubles what the receiver is worth; losses never help.
func TestSystem(t *testing.T) {
	near(t, "lossless", System(30, 10, Antenna{}), DB(1000+9), 1e-9)
	near(t, "line of 3 dB", System(0, 10, Antenna{LineLossDB: 3}), 13, 1e-9)
	near(t, "losses of 2 and 3 dB before 10 dB, and thermal noise outside", System(0, 10, Antenna{CircuitLossDB: 2, LineLossDB: 3}), 15, 1e-9)
	if cold := System(0, 10, Antenna{LineLossDB: 3, LineK: 100}); cold >= 13 {
		t.Errorf("a cold line is quieter: %g", cold)
	}
}

// TestRise holds the bench test: 10 dB of rise is external noise 9.5 dB above
// the set's own; equal noises give 3 dB.
func TestRise(t *testing.T) {
	at := func(fa, nf float64) float64 { return Rise(quantity.Exact(fa), quantity.Exact(nf)).Estimate() }
	near(t, "9.54 dB above", at(49.5424, 40), 10, 1e-3)
	near(t, "equal", at(40, 40), 3.0103, 1e-3)
	near(t, "an antenna as quiet as the resistance", at(0, 12), 0, 1e-12)
	near(t, "figure for 3 dB is about Fam", FigureForRise(40, 3), 40, 0.03)
	near(t, "figure for 1 dB is 5.9 dB below", FigureForRise(40, 1), 34.1, 0.05)
}
