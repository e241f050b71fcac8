package superhet

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"setwright/quantity"
)

func TestLevelTable(t *testing.T) {
	for _, r := range rows(t, "rf-dbm-uv.csv") {
		dbm := quantity.Exact(number(t, r, "dBm"))
		for _, ohm := range []float64{50, 75, 300, 400, 600} {
			l := Level{dbm, ohm}
			printed(t, r, fmt.Sprintf("uV_pd_%g", ohm), 1e6*l.MatchedPD().Estimate())
		}
		l := Level{dbm, 50}
		printed(t, r, "uV_emf_50", 1e6*l.EMF().Estimate())
		printed(t, r, "dBuV_pd_50", DBuV(l.MatchedPD()).Estimate())
	}
}

// TestLevelRows holds the single rows of the reference.
func TestLevelRows(t *testing.T) {
	for ohm, want := range map[float64]struct{ zero, micro, add float64 }{
		50: {223.61, -106.99, 106.99}, 75: {273.86, -108.75, 108.75}, 300: {547.72, -114.77, 114.77}, 400: {632.46, -116.02, 116.02},
		600: {774.60, math.NaN(), math.NaN()},
	} {
		near(t, "0 dBm in mV", 1e3*Level{quantity.Exact(0), ohm}.MatchedPD().Estimate(), want.zero, 5.1e-3)
		if math.IsNaN(want.micro) {
			continue
		}
		one := FromPD(quantity.Exact(1e-6), ohm)
		near(t, "1 µV PD in dBm", one.DBm.Estimate(), want.micro, 5.1e-3)
		near(t, "dBµV = dBm +", DBuV(one.MatchedPD()).Sub(one.DBm).Estimate(), want.add, 5.1e-3)
	}
	near(t, "Beasley 3.3: 8 µV in 50 ohm, printed -89", FromPD(quantity.Exact(8e-6), 50).DBm.Estimate(), -88.93, 5.1e-3)
	near(t, "Beasley 3.3: in pW", 1e12*math.Pow(8e-6, 2)/50, 1.28, 1e-9)
	near(t, "EMF over PD in dB", Level{quantity.Exact(-50), 50}.EMF().Div(Level{quantity.Exact(-50), 50}.MatchedPD()).VoltageRatioDB().Estimate(), 6.02, 1e-3)
	near(t, "1 µV EMF from 50 ohm, dBm", FromEMF(quantity.Exact(1e-6), 50).DBm.Estimate(), -113.01, 5.1e-3)
	near(t, "150 µV terminated is 300 µV EMF", 1e6*FromPD(quantity.Exact(150e-6), 50).EMF().Estimate(), 300, 1e-9)

	a, err := Path{LoadOhm: 300}.Arrive(FromPD(quantity.Exact(1e-6), 50))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "300 ohm receiver on a 50 ohm generator set to 1 µV PD", 1e6*a.PD.Estimate(), 1.714, 5.1e-4)
	near(t, "its mismatch loss: available over taken", a.LossDB, 10*math.Log10(350*350/(4*50*300.)), 1e-12)
	near(t, "power taken", PDdBm(a.PD, 300).Add(quantity.Exact(a.LossDB)).Estimate(), a.DBm.Estimate(), 1e-9)
}

func TestParseLevel(t *testing.T) {
	for _, c := range []struct {
		text string
		r    Reading
		dbm  float64
	}{
		{"-73 dBm", Reading{}, -73},
		{"−73 dBm", Reading{SourceOhm: 75}, -73},
		{"50 µV emf", Reading{}, -79.03},
		{"50 uV EMF", Reading{}, -79.03},
		{"1 uV pd", Reading{}, -106.99},
		{"1 µV p.d.", Reading{}, -106.99},
		{"1 µV", Reading{Volts: PD}, -106.99},
		{"1 µV emf", Reading{Volts: PD}, -113.01},
		{"0 dBµV emf", Reading{}, -113.01},
		{"34 dBuV pd", Reading{}, -72.99},
		{"-107", Reading{Unit: "dBm"}, -107},
		{"2", Reading{Unit: "µV", Volts: EMF}, -106.99},
		{"-73 dBm", Reading{Unit: "µV", Volts: EMF}, -73},
		{"1 mW", Reading{}, 0},
		{"-120 dBV emf", Reading{}, -113.01},
	} {
		l, err := ParseLevel(c.text, c.r)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		near(t, c.text, l.DBm.Estimate(), c.dbm, 5.1e-3)
	}
	for _, text := range []string{"50 µV", "7 MHz", "73", "0 µV emf", "-3 µV pd", "50 µV rms", "0 W", "", "much"} {
		_, err := ParseLevel(text, Reading{})
		var level *LevelError
		var typed *quantity.ParseError
		if !errors.As(err, &level) && !errors.As(err, &typed) {
			t.Errorf("%q was taken, or refused without saying what was expected: %v", text, err)
		}
	}
	for text, want := range map[string]string{"2 µV emf": EMF, "2 uV p.d.": PD, "2 µV": "", "-107 dBm": "", "2 µV rms": "", "nonsense": ""} {
		if got := VoltsWord(text); got != want {
			t.Errorf("%q says %q, expected %q", text, got, want)
		}
	}
	src := quantity.RunSource("r", "level").Source("generator", 0)
	l, err := ParseLevel("-107 dBm ± 1.5 dB", Reading{Source: src})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "what is typed after ± goes with it", l.DBm.U(), 1.5, 1e-12)
}

// TestLevelsComeBack: a level written as EMF or PD and read again is the same,
// and its uncertainty with it.
func TestLevelsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dbm := rapid.Float64Range(-150, 30).Draw(t, "dBm")
		ohm := rapid.Float64Range(1, 5000).Draw(t, "ohm")
		src := quantity.RunSource("r", "level").Source("generator", 0)
		l := Level{quantity.New(dbm, quantity.Contribution{Source: src, C: 1.2}), ohm}
		for _, back := range []Level{FromEMF(l.EMF(), ohm), FromPD(l.MatchedPD(), ohm)} {
			if math.Abs(back.DBm.Estimate()-dbm) > 1e-9 || math.Abs(back.DBm.U()-1.2) > 1e-9 {
				t.Fatalf("%v became %v", l.DBm, back.DBm)
			}
		}
		text := strconv.FormatFloat(1e6*l.EMF().Estimate(), 'g', 12, 64) + " µV emf"
		read, err := ParseLevel(text, Reading{SourceOhm: ohm})
		if err != nil || math.Abs(read.DBm.Estimate()-dbm) > 1e-6 {
			t.Fatalf("%q at %g ohm: %v, %v; expected %g", text, ohm, read.DBm, err, dbm)
		}
	})
}

func FuzzParseLevel(f *testing.F) {
	for _, s := range []string{"-73 dBm", "50 µV emf", "1 uV pd", "34 dBµV", "-107 dBm ± 1 dB", "1e309 V emf", "(1 ± 2) µV pd"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := ParseLevel(text, Reading{})
		if err == nil && math.IsNaN(l.DBm.Estimate()) {
			t.Errorf("%q gave a level that is no number", text)
		}
	})
}
