package quantity

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func uncertain(x, u float64) Value { return New(x, Contribution{Source{ID: "run/1/noise"}, u}) }

func TestFormat(t *testing.T) {
	for _, row := range []struct {
		x, u float64
		unit string
		want string
	}{
		{1260, 35, "s", "21.00 ± 0.58 min"},
		{1158, 72, "s", "19.3 ± 1.2 min"},
		{90, 2, "s", "90.0 ± 2.0 s"},
		{7300, 60, "s", "121.7 ± 1.0 min"},
		{3, 0.1, "h", "180.0 ± 6.0 min"},
		{20000, 360, "s", "5.56 ± 0.10 h"},
		{-3e-5, 54e-5, "Hz/h", "−0.03 ± 0.54 mHz/h"},
		{0.0123, 0.0004, "s", "12.30 ± 0.40 ms"},
		{7065123.4, 2.1, "Hz", "7065.1234 ± 0.0021 kHz"},
		{7065.1234, 0.0021, "kHz", "7065.1234 ± 0.0021 kHz"},
		{7065000, 1500, "Hz", "7.0650 ± 0.0015 MHz"},
		{999960, 2000, "Hz", "1.0000 ± 0.0020 MHz"},
		{455020, 31.7, "Hz", "455.020 ± 0.032 kHz"},
		{-12.34, 0.56, "Hz/h", "−12.34 ± 0.56 Hz/h"},
		{-73.04, 0.52, "dBm", "−73.04 ± 0.52 dBm"},
		{2345, 12, "dBm", "2345 ± 12 dBm"}, // levels keep their unit
		{21.04, 0.5, "°C", "21.04 ± 0.50 °C"},
		{50e-6, 3e-6, "V", "50.0 ± 3.0 µV"},
		{2200, 110, "ohm", "2.20 ± 0.11 kΩ"},
		{1e-7, 1e-8, "F", "100 ± 10 nF"},
		{-12.3e-6, 0.9e-6, "1/K", "−12.30 ± 0.90 ppm/K"},
		{1.234e-9, 4.4e-11, "1", "(1.234 ± 0.044) × 10⁻⁹"},
		{0.57, 0.03, "1", "0.570 ± 0.030"},
		{5.2, 0.31, "%", "5.20 ± 0.31 %"},
		{12.5, 0.2, "furlong", "12.50 ± 0.20 furlong"},

		// carrying: 0.0996 to two digits is 0.10
		{5, 0.0996, "dB", "5.00 ± 0.10 dB"},
		{9.996, 0.0996, "dB", "10.00 ± 0.10 dB"},
		{5, 0.0994, "dB", "5.000 ± 0.099 dB"},
		{5, 9.95, "dB", "5 ± 10 dB"},
		{123, 99.6, "dB", "120 ± 100 dB"},
		{0.35, 1.05, "dB", "0.4 ± 1.1 dB"},

		// uncertainty larger than the estimate, or as large
		{2, 350, "dB", "0 ± 350 dB"},
		{2, 350000, "Hz", "0 ± 350 kHz"},
		{-0.001, 0.5, "dB", "0.00 ± 0.50 dB"},
		{0, 0.0021, "Hz", "0.0 ± 2.1 mHz"},
		{-4, 1234, "dB", "0 ± 1200 dB"},

		// exact
		{7065000, 0, "Hz", "7.065 MHz"},
		{7065123.4, 0, "Hz", "7065.1234 kHz"},
		{1260, 0, "s", "21 min"},
		{1000, 0, "s", "1000 s"},
		{0, 0, "Hz", "0 Hz"},
		{math.Copysign(0, -1), 0, "dB", "0 dB"},
		{0.1 + 0.2, 0, "dB", "0.3 dB"},
		{50e-6, 0, "V", "50 µV"},
		{3, 0, "count", "3"},
		{5, 1e-30, "dB", "5 dB"},

		// beyond all prefixes
		{1e200, 0, "A", "1 × 10²⁰⁰ A"},
		{-1.5e-20, 3e-22, "V", "(−1.500 ± 0.030) × 10⁻²⁰ V"},
		{2e12, 1e11, "dB", "(2.00 ± 0.10) × 10¹² dB"},

		// not numbers
		{math.NaN(), 0, "Hz", "undefined"},
		{math.Inf(1), 1, "Hz", "undefined"},
		{19.34, math.Inf(1), "dB", "19.3 dB (uncertainty not known)"},
		{19.34, math.NaN(), "dB", "19.3 dB (uncertainty not known)"},
	} {
		if got := Format(uncertain(row.x, row.u), row.unit); got != row.want {
			t.Errorf("%v ± %v %s: %q, want %q", row.x, row.u, row.unit, got, row.want)
		}
	}
}

func TestStyles(t *testing.T) {
	ascii, group := Printer{ASCII: true, Group: true}, Printer{Group: true}
	for _, row := range []struct{ got, want string }{
		{ascii.Format(uncertain(-50e-6, 3e-6), "V"), "-50.0 +/- 3.0 uV"},
		{ascii.Format(uncertain(1.234e-9, 4.4e-11), "1"), "(1.234 +/- 0.044) x 10^-9"},
		{ascii.Format(Exact(0.005), "ohm"), "5 milliohm"},
		{ascii.Format(Exact(21), "°C"), "21 degC"},
		{ascii.Format(Exact(12), "dBµV"), "12 dBuV"},
		{ascii.Format(Exact(12345678), "dB"), "12345678 dB"},
		{group.Format(Exact(-12345678), "dB"), "−12\u202F345\u202F678 dB"},
		{group.Format(Exact(1234), "dB"), "1234 dB"},
	} {
		if row.got != row.want {
			t.Errorf("%q, want %q", row.got, row.want)
		}
	}
}

func TestOutcomesInWords(t *testing.T) {
	for _, row := range []struct {
		o    Outcome
		unit string
		want string
	}{
		{Known(uncertain(1260, 35)), "s", "21.00 ± 0.58 min"},
		{Between(1200, 2400), "s", "between 20 and 40 min"},
		{Between(1183.28, 2402.11), "s", "between 20 and 40 min"},
		{Between(30, 2400), "s", "between 0.5 and 40 min"},
		{Between(60, 90), "s", "between 60 and 90 s"},
		{Between(-5, 3), "Hz", "between −5 and 3 Hz"},
		{Between(0, 0.4e-6), "V", "between 0 and 400 nV"},
		{Between(1200, 1200), "s", "20 min"},
		{Between(0, math.Inf(1)), "s", "undefined"},
		{Above(Exact(2280)), "s", "more than 38 min"},
		{Above(Exact(2283.2738463)), "s", "more than 38.05 min"},
		{Below(Exact(2283.2738463)), "s", "less than 38.06 min"},
		{Above(Exact(-73.1238)), "dBm", "more than −73.13 dBm"},
		{Above(uncertain(80, 1.5)), "dB", "more than 80.0 ± 1.5 dB"},
		{Counted(3), "count", "3"},
		{Chosen("high side"), "", "high side"},
		{Outcome{Kind: KindValue, Value: Exact(1.24e-9), CI: &[2]float64{0.9e-9, 2.1e-9}, Level: 0.95}, "1", "1.2 × 10⁻⁹ (95 %: 0.9 to 2.1 × 10⁻⁹)"},
		{Outcome{Kind: KindValue, Value: Exact(1260), CI: &[2]float64{1104, 1614}, Level: 0.683}, "s", "21.0 min (68.3 %: 18.4 to 26.9 min)"},
		{Outcome{}, "s", "not known"},
	} {
		if got := FormatOutcome(row.o, row.unit); got != row.want {
			t.Errorf("%+v: %q, want %q", row.o, got, row.want)
		}
	}
}

func TestOneScaleForAColumn(t *testing.T) {
	column := []float64{455020, 7065000, math.NaN(), 12}
	s := ScaleFor(column, "Hz")
	if s.Label != "MHz" || s.Of(7065000) != 7.065 || s.Factor != 1e6 || !math.IsNaN(s.Of(math.NaN())) {
		t.Errorf("%+v", s)
	}
	if got := (Printer{}).In(uncertain(455020, 30), s); got != "0.455020 ± 0.000030" {
		t.Errorf("cell %q", got)
	}
	for _, row := range []struct {
		x           float64
		unit, label string
		ascii       string
	}{
		{3e-9, "1", "10⁻⁹", "10^-9"}, {0.5, "1", "", ""}, {5400, "s", "min", "min"}, {20e-6, "V", "µV", "uV"},
		{0, "Hz", "Hz", "Hz"}, {5, "furlong", "furlong", "furlong"}, {7065, "kHz", "MHz", "MHz"}, {40, "dBµV", "dBµV", "dBuV"},
	} {
		if s := ScaleFor([]float64{row.x}, row.unit); s.Label != row.label || s.ASCIILabel != row.ascii {
			t.Errorf("%v %s: label %q, %q; want %q, %q", row.x, row.unit, s.Label, s.ASCIILabel, row.label, row.ascii)
		}
	}
	if (Scale{}).Of(5) != 5 {
		t.Error("the zero scale changes numbers")
	}
}

// What is printed, in any style, reads back as the same quantity within the
// digits printed.
func TestWhatIsPrintedReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom(UnitSymbols()).Draw(t, "unit")
		p := rapid.SampledFrom([]Printer{{}, {ASCII: true}, {Group: true}}).Draw(t, "style")
		power := func(label string) float64 { return math.Pow(10, rapid.Float64Range(-11, 9).Draw(t, label)) }
		x, u := power("x"), power("u")
		if rapid.Bool().Draw(t, "negative") {
			x = -x
		}
		if rapid.Bool().Draw(t, "exact") {
			u = 0
		}
		if unit == "count" {
			x, u = math.Round(x), 0
		}
		text := p.Format(uncertain(x, u), unit)
		q, err := ParseAs(text, unit)
		if err != nil {
			t.Fatal(err)
		}
		m, _, _ := LookupUnit(unit)
		one := m.Factor
		back, err := q.In(unit)
		if err != nil {
			t.Fatal(err)
		}
		// Half of the second digit of u is at most 0.05 u, 0.0503 u where it carries.
		if math.Abs(back-x) > math.Max(0.5000001*q.Resolution/one, 0.0503*u)+1e-13*(math.Abs(x)+math.Abs(m.Offset)) {
			t.Fatalf("%v ± %v %s → %q → %v, step %v", x, u, unit, text, back, q.Resolution)
		}
		if u > 1e-15*math.Abs(x) && math.Abs(q.PlusMinus/one-u) > 0.0503*u {
			t.Fatalf("%v ± %v %s → %q → ± %v", x, u, unit, text, q.PlusMinus)
		}
		if number, _, _ := strings.Cut(text, " "); q.Value == 0 && strings.ContainsAny(number, "-−") {
			t.Fatalf("minus nought: %q", text)
		}
	})
}

// A limit known to a hundredth is told without its uncertainty, which stays with
// the value; a rougher one is told with it.
func TestBoundWithItsUncertainty(t *testing.T) {
	for _, row := range []struct {
		x, u float64
		want string
	}{{5400, 2, "more than 90 min"}, {10, 2, "more than 10.0 ± 2.0 s"}} {
		v := New(row.x, Contribution{Source{ID: "s"}, row.u})
		if got := FormatOutcome(Above(v), "s"); got != row.want {
			t.Errorf("got %q, want %q", got, row.want)
		}
	}
}
