package bfo

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// usual is a receiver with a passband of 2.4 kHz and a BFO that reaches 3 kHz
// to both sides.
func usual(inverted bool) Situation {
	return Situation{
		BFOLow: -3000, BFOHigh: 3000, PassLow: -1200, PassHigh: 1200, SpeechLow: 300, SpeechHigh: 2700,
		Enough: 0.7, Pitch: 800, PitchLow: 400, PitchHigh: 1000, Inverted: inverted,
	}
}

// Side of the BFO, place of the carrier and sense of the tone are those of the
// published rows.
func TestAdviceAgreesWithThePublishedRows(t *testing.T) {
	f, err := os.Open("testdata/bfo.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		a := Advise(row[2], usual(row[1] == "yes"))
		khz, _ := strconv.ParseFloat(row[4], 64)
		carrier, _ := strconv.ParseFloat(row[5], 64)
		if got := 455 + a.BFO/1000; math.Abs(got-khz) > 1e-9 {
			t.Errorf("%v: BFO at %g kHz", row, got)
		}
		if got := a.CarrierLessDial / 1000; math.Abs(got-carrier) > 1e-9 {
			t.Errorf("%v: carrier %g kHz from the dial", row, got)
		}
		if a.Rises != (row[6] == "rises") || !a.Copied || a.Other != 0 {
			t.Errorf("%v: %+v", row, a)
		}
		if a.Low != -1200 || a.High != 1200 {
			t.Errorf("%v: audio lands on %g to %g Hz, published 453.8 to 456.2 kHz", row, a.Low, a.High)
		}
	}
}

// CW: BFO = f0 ± pitch, the signal then sits at f0, and with a passband of
// 500 Hz the other side of zero beat stays out.
func TestTelegraphySitsInTheMiddle(t *testing.T) {
	s := usual(true)
	s.PassLow, s.PassHigh = -250, 250
	a := Advise(CW, s)
	if math.Abs(a.BFO) != 800 || a.CarrierLessDial != 0 || a.Other != 0 || !a.Copied {
		t.Errorf("%+v", a)
	}
	for _, mode := range []string{USB, LSB} {
		if b := Advise(mode, s); b.Copied || !strings.HasPrefix(b.Text(false), "not copied") {
			t.Errorf("%s through 500 Hz: %+v", mode, b)
		}
	}
}

// A fixed BFO on the middle of a wide passband: everything is copied with the
// other sideband, and the dial is right for speech.
func TestFixedBFOOnTheMiddle(t *testing.T) {
	s := usual(false)
	s.BFOLow, s.BFOHigh, s.PassLow, s.PassHigh = 0, 0, -4000, 4000
	for _, mode := range Modes {
		a := Advise(mode, s)
		if !a.Copied || a.Other < 0.99 {
			t.Errorf("%s: %+v", mode, a)
		}
	}
	a := Advise(CW, s)
	if math.Abs(a.CarrierLessDial) != 800 || !strings.Contains(a.Text(true), "800 Hz") {
		t.Errorf("%s: %+v", a.Text(true), a)
	}
	// a narrow passband round the same BFO lets less than half of the speech by
	s.PassLow, s.PassHigh = -1200, 1200
	if a := Advise(USB, s); a.Copied {
		t.Errorf("%+v", a)
	}
}

// A fixed BFO 1.5 kHz above copies one sideband well and the other not; which
// one it is turns round with the conversion.
func TestFixedBFOBesideThePassband(t *testing.T) {
	for _, inverted := range []bool{true, false} {
		s := usual(inverted)
		s.BFOLow, s.BFOHigh = 1500, 1500
		good, bad := LSB, USB
		if inverted {
			good, bad = USB, LSB
		}
		if !Advise(good, s).Copied || Advise(bad, s).Copied {
			t.Errorf("inverted %v: %+v %+v", inverted, Advise(USB, s), Advise(LSB, s))
		}
	}
}

// Whatever the set, turning the spectrum round swaps the sidebands and nothing
// else, and what is called copied lies within BFO and passband.
func TestInversionSwapsTheSidebands(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := usual(true)
		s.BFOLow = rapid.Float64Range(-5000, 2000).Draw(t, "low")
		s.BFOHigh = s.BFOLow + rapid.Float64Range(0, 6000).Draw(t, "reach")
		s.PassLow = rapid.Float64Range(-5000, 0).Draw(t, "pass low")
		s.PassHigh = s.PassLow + rapid.Float64Range(100, 9000).Draw(t, "bandwidth")
		u := s
		u.Inverted = false
		a, b := Advise(USB, s), Advise(LSB, u)
		if a.BFO != b.BFO || a.Share != b.Share || a.Rises == b.Rises || a.CarrierLessDial != -b.CarrierLessDial {
			t.Fatalf("USB inverted %+v, LSB upright %+v", a, b)
		}
		for _, mode := range Modes {
			a := Advise(mode, s)
			if a.BFO < s.BFOLow || a.BFO > s.BFOHigh || a.Share < 0 || a.Share > 1+1e-9 {
				t.Fatalf("%s: %+v outside %+v", mode, a, s)
			}
			if mode == CW && a.Copied && (a.Low < s.PassLow || a.High > s.PassHigh || math.Abs(math.Abs(a.BFO-a.Low)-a.Pitch) > 1e-6) {
				t.Fatalf("CW: %+v in %+v", a, s)
			}
		}
	})
}
