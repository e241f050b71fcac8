package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// What people write, in the field it is written in. An empty wanted unit is
// [Parse].
var written = []struct {
	text, wanted      string
	value, resolution float64
	unit, qualifier   string
}{
	{"7.065 MHz", "", 7065000, 1000, "Hz", ""},
	{"7065k", "Hz", 7065000, 1000, "Hz", ""},
	{"7065", "kHz", 7065000, 1000, "Hz", ""},
	{"7065 kc/s", "", 7065000, 1000, "Hz", ""},
	{"7.065 Mc/s", "Hz", 7065000, 1000, "Hz", ""},
	{"7.065Mc", "", 7065000, 1000, "Hz", ""},
	{"455kc", "Hz", 455000, 1000, "Hz", ""},
	{"455 KC/S", "Hz", 455000, 1000, "Hz", ""},
	{"455 khz", "", 455000, 1000, "Hz", ""},
	{"7.065 MHZ", "", 7065000, 1000, "Hz", ""},
	{"7M065", "Hz", 7065000, 1000, "Hz", ""},
	{"0.12 mHz", "Hz", 0.00012, 0.00001, "Hz", ""},
	{"3 kilocycles", "", 3000, 1000, "Hz", ""},
	{"7\u202f065\u202f012,5 Hz", "", 7065012.5, 0.1, "Hz", ""},
	{"7'065'012.5 Hz", "", 7065012.5, 0.1, "Hz", ""},
	{"7.065.012 Hz", "", 7065012, 1, "Hz", ""},
	{"7,065,012.50 Hz", "", 7065012.5, 0.01, "Hz", ""},
	{"7 065 kHz", "", 7065000, 1000, "Hz", ""},
	{"\u221212,5 Hz/h", "", -12.5, 0.1, "Hz/h", ""},
	{"0.2 Hz/min", "Hz/h", 12, 6, "Hz/h", ""},
	{"-73 dBm", "", -73, 1, "dBm", ""},
	{"-73", "dBm", -73, 1, "dBm", ""},
	{"\u2013107.5 dBm", "dBm", -107.5, 0.1, "dBm", ""},
	{"-73 DBM", "", -73, 1, "dBm", ""},
	{"12 dBµV", "", 12, 1, "dBµV", ""},
	{"12 dBuV emf", "dBµV", 12, 1, "dBµV", "emf"},
	{"10 db", "dB", 10, 1, "dB", ""},
	{"50 uV", "V", 50e-6, 1e-6, "V", ""},
	{"50 µV emf", "V", 50e-6, 1e-6, "V", "emf"},
	{"50 \u03bcV e.m.f.", "", 50e-6, 1e-6, "V", "emf"},
	{"5 µV pd", "", 5e-6, 1e-6, "V", "pd"},
	{"230 V", "", 230, 1, "V", ""},
	{"250 VDC", "V", 250, 1, "V", "dc"},
	{"6.3 V a.c.", "V", 6.3, 0.1, "V", "ac"},
	{"5 m", "V", 0.005, 0.001, "V", ""},
	{"50 mv", "V", 0.05, 0.001, "V", ""},
	{"8 mA", "", 0.008, 0.001, "A", ""},
	{"0,1 µF", "", 1e-7, 1e-7, "F", ""},
	{"0.1 MFD", "", 1e-7, 1e-7, "F", ""},
	{"47 mmfd", "F", 47e-12, 1e-12, "F", ""},
	{"100p", "F", 100e-12, 1e-12, "F", ""},
	{"4n7", "F", 4.7e-9, 1e-10, "F", ""},
	{"4n7F", "", 4.7e-9, 1e-10, "F", ""},
	{"2.5 mh", "H", 0.0025, 0.0001, "H", ""},
	{"10 h", "H", 10, 1, "H", ""},
	{"2k2", "", 2200, 100, "Ω", ""},
	{"4M7", "", 4.7e6, 1e5, "Ω", ""},
	{"4R7", "ohm", 4.7, 0.1, "Ω", ""},
	{"R47", "ohm", 0.47, 0.01, "Ω", ""},
	{"2k20 Ω", "", 2200, 10, "Ω", ""},
	{"47K", "ohm", 47000, 1000, "Ω", ""},
	{"100R", "", 100, 1, "Ω", ""},
	{"1 meg", "ohm", 1e6, 1e6, "Ω", ""},
	{"2.2 megohms", "", 2.2e6, 1e5, "Ω", ""},
	{"470 k\u2126", "", 470e3, 1e3, "Ω", ""},
	{"3 milliohm", "", 0.003, 0.001, "Ω", ""},
	{"5 mA/V", "", 0.005, 0.001, "S", ""},
	{"2000 µmho", "", 0.002, 1e-6, "S", ""},
	{"14m20s", "", 860, 1, "s", ""},
	{"14m20", "s", 860, 1, "s", ""},
	{"14 min 20.5 s", "", 860.5, 0.1, "s", ""},
	{"14:20", "", 860, 1, "s", ""},
	{"1:30", "h", 5400, 60, "s", ""},
	{"1:30", "min", 90, 1, "s", ""},
	{"90:00", "s", 5400, 1, "s", ""},
	{"2:14:20,5", "s", 8060.5, 0.1, "s", ""},
	{"-0:30", "s", -30, 1, "s", ""},
	{"1h30", "", 5400, 60, "s", ""},
	{"1 h 30 min", "s", 5400, 60, "s", ""},
	{"2d 3h", "", 183600, 3600, "s", ""},
	{"14m", "s", 840, 60, "s", ""},
	{"1.5 h", "", 5400, 360, "s", ""},
	{"38", "min", 2280, 60, "s", ""},
	{"20 ms", "s", 0.02, 0.001, "s", ""},
	{"21 °C", "°C", 21, 1, "°C", ""},
	{"21 C", "", 21, 1, "°C", ""},
	{"294.15 K", "°C", 21, 0.01, "°C", ""},
	{"290 K", "", 290, 1, "K", ""},
	{"68 °F", "°C", 20, 5. / 9, "°C", ""},
	{"10 %", "", 0.1, 0.01, "1", ""},
	{"57 %", "1", 0.57, 0.01, "1", ""},
	{"2.5 ppm", "1", 2.5e-6, 1e-7, "1", ""},
	{"-12 ppm/°C", "1/K", -12e-6, 1e-6, "1/K", ""},
	{"1.2e-9", "", 1.2e-9, 1e-10, "1", ""},
	{"1.2 × 10⁻⁹", "1", 1.2e-9, 1e-10, "1", ""},
	{"1.2 x 10^-9", "1", 1.2e-9, 1e-10, "1", ""},
	{"1,234", "count", 1234, 1, "count", ""},
	{"12,5 Hz", "", 12.5, 0.1, "Hz", ""},
	{"0,125 V", "", 0.125, 0.001, "V", ""},
	{"1234,567 V", "", 1234.567, 0.001, "V", ""},
	{".5 V", "", 0.5, 0.1, "V", ""},
	{"5. V", "", 5, 1, "V", ""},
	{"  5   V  ", "", 5, 1, "V", ""},
	{"0.50 Hz/V", "", 0.5, 0.01, "Hz/V", ""},
	{"1.5 kHz/V", "", 1500, 100, "Hz/V", ""},
}

func TestQuantitiesAsPeopleWriteThem(t *testing.T) {
	for _, row := range written {
		q, err := parseRow(row.text, row.wanted)
		if err != nil {
			t.Errorf("%q as %q: %v", row.text, row.wanted, err)
			continue
		}
		close := func(got, want float64) bool { return math.Abs(got-want) <= 1e-15*math.Abs(want) }
		exact := row.wanted != "°C" // °F and K leave rounding errors
		if exact && q.Value != row.value || !exact && math.Abs(q.Value-row.value) > 1e-9 || !close(q.Resolution, row.resolution) {
			t.Errorf("%q as %q = %v, step %v; want %v, step %v", row.text, row.wanted, q.Value, q.Resolution, row.value, row.resolution)
		}
		if q.Unit != row.unit || q.Qualifier != row.qualifier {
			t.Errorf("%q: unit %q, qualifier %q; want %q, %q", row.text, q.Unit, q.Qualifier, row.unit, row.qualifier)
		}
	}
}

func parseRow(text, wanted string) (Quantity, error) {
	if wanted == "" {
		return Parse(text)
	}
	return ParseAs(text, wanted)
}

// What could be two things, or is none, is refused with its place and reason.
func TestWhatIsRefused(t *testing.T) {
	for _, row := range []struct {
		text, wanted string
		pos          int
		says         string
	}{
		{"", "", 1, "a number with its unit"},
		{"   ", "Hz", 4, "a number with its unit"},
		{"abc", "", 1, "a number"},
		{"-", "", 2, "a number"},
		{"1,234 Hz", "", 1, "write 1.234 if the comma is a decimal sign, 1234 if"},
		{"7,065 MHz", "MHz", 1, "one way only"},
		{"7 mhz", "", 3, "write MHz for mega or mHz for milli"},
		{"7.065 mHz", "MHz", 7, "nearer to MHz"},
		{"7 mc", "Hz", 3, "MHz for mega"},
		{"7.065m", "Hz", 6, "MHz for mega"},
		{"1 mohm", "", 3, "megohm for mega"},
		{"0.1 mf", "", 5, "µF for micro"},
		{"0.1 MF", "F", 5, "µF for micro"},
		{"14m", "", 3, "min for minutes"},
		{"14m20", "", 1, "14m20s if minutes"},
		{"7065k", "", 5, "a unit after the prefix"},
		{"5 V", "Hz", 3, "a unit of frequency such as Hz and not one of voltage"},
		{"-73 dBm", "dBµV", 5, "not one of level re 1 mW"},
		{"21 °C", "K", 4, "not one of temperature"},
		{"5 furlongs", "", 3, "a unit such as Hz"},
		{"2.5", "count", 1, "a whole number"},
		{"1.2.3 V", "", 1, "groups of three"},
		{"1,2.3,4 V", "", 1, "one decimal sign"},
		{"12'34 V", "", 1, "groups of three"},
		{"1 234.567 890 V", "", 1, "no marks after"},
		{"12 5 V", "", 4, "a unit such as"},
		{"1:75", "s", 3, "fewer than 60"},
		{"1h75m", "s", 3, "fewer than 60"},
		{"20s14m", "s", 1, "in this order"},
		{"4R7", "V", 1, "between the digits"},
		{"5 V ± -1", "", 7, "without sign"},
		{"2k2 ± 100", "", 7, "its unit after ±"},
		{"5 V ± 2k2", "", 7, "its unit after ±"},
		{"5 V ± 1 Hz", "", 9, "a unit of voltage after ±"},
		{"(5 ± 1 V", "", 9, "closing bracket"},
		{"(5 ± 1 V) V", "", 11, "one unit"},
		{"5 V ± 1 V ± 1 V", "", 11, "the end"},
		{"5e999 V", "", 3, "power of ten"},
		{"5e400 V", "", 1, "below 1e308"},
		{"nan", "Hz", 1, "a number"},
		{"inf Hz", "", 1, "a number"},
		{"5 \xffV", "", 3, "UTF-8"},
		{strings.Repeat("1", 300), "", 201, "at most 200 characters"},
	} {
		q, err := parseRow(row.text, row.wanted)
		var e *ParseError
		if !errors.As(err, &e) {
			t.Errorf("%q as %q = %+v, %v; want a refusal", row.text, row.wanted, q, err)
			continue
		}
		if e.Pos != row.pos || !strings.Contains(e.Expected, row.says) || e.Example == "" {
			t.Errorf("%q as %q: %v\nwant position %d and %q", row.text, row.wanted, err, row.pos, row.says)
		}
	}
	if _, err := ParseAs("5", "furlong"); err == nil || !strings.Contains(err.Error(), "not known") {
		t.Errorf("unknown wanted unit: %v", err)
	}
}

func TestPlusMinus(t *testing.T) {
	for _, row := range []struct {
		text      string
		value, pm float64
	}{
		{"7.065 MHz ± 2 Hz", 7065000, 2},
		{"19.3 ± 1.2 min", 1158, 72},
		{"(19.3 ± 1.2) min", 1158, 72},
		{"19.3 min +/- 72 s", 1158, 72},
		{"-73.0 ± 0.5 dBm", -73, 0.5},
		{"-73 dBm ± 0.5 dB", -73, 0.5},
		{"21 °C ± 0.5 K", 21, 0.5},
		{"68.0 ± 0.9 °F", 20, 0.5},
		{"250 V ± 5 %", 250, 12.5},
		{"10 ± 2 %", 0.1, 0.02},
		{"(1.2 ± 0.3) × 10⁻⁹", 1.2e-9, 3e-10},
		{"2k2 ± 10%", 2200, 220},
		{"5 +- 1 V", 5, 1},
	} {
		q, err := Parse(row.text)
		if err != nil || math.Abs(q.Value-row.value) > 1e-12*math.Abs(row.value) || math.Abs(q.PlusMinus-row.pm) > 1e-12*row.pm {
			t.Errorf("%q = %v ± %v, %v; want %v ± %v", row.text, q.Value, q.PlusMinus, err, row.value, row.pm)
		}
	}
}

func TestAKnownNotationSettlesTheComma(t *testing.T) {
	for _, row := range []struct {
		decimal rune
		text    string
		want    float64
	}{
		{',', "1,234", 1.234}, {'.', "1,234", 1234}, {',', "1.234", 1234}, {'.', "1.234", 1.234}, {',', "1.234,5", 1234.5},
	} {
		if q, err := (Notation{Decimal: row.decimal}).ParseAs(row.text, "Hz"); err != nil || q.Value != row.want {
			t.Errorf("%q with %q = %v, %v", row.text, row.decimal, q.Value, err)
		}
	}
	if _, err := (Notation{Decimal: ','}).ParseAs("12.5", "Hz"); err == nil {
		t.Error("12.5 was read where the comma is the decimal sign")
	}
}

// However a unit is written exactly, it is one unit.
func TestNoTwoUnitsAreWrittenAlike(t *testing.T) {
	for _, u := range units {
		for _, name := range u.names() {
			for _, p := range append([]prefix{{}}, prefixes...) {
				text := p.text + name
				if found := matchUnits(text, "", false); len(found) > 1 && !agree(found) {
					t.Errorf("%q can be read as %d units: %s and %s", text, len(found), found[0].label(false), found[1].label(false))
				}
			}
		}
	}
}

func TestConvert(t *testing.T) {
	for _, row := range []struct {
		x        float64
		from, to string
		want     float64
	}{
		{7.065, "MHz", "kHz", 7065}, {1260, "s", "min", 21}, {0.57, "1", "%", 57}, {20, "°C", "°F", 68}, {12e-6, "1/K", "ppm/K", 12},
	} {
		if got, err := Convert(row.x, row.from, row.to); err != nil || math.Abs(got-row.want) > 1e-12*row.want {
			t.Errorf("%v %s = %v %s, %v", row.x, row.from, got, row.to, err)
		}
	}
	for _, bad := range [][2]string{{"V", "Hz"}, {"x", "Hz"}, {"Hz", "x"}} {
		if _, err := Convert(1, bad[0], bad[1]); err == nil {
			t.Errorf("%s became %s", bad[0], bad[1])
		}
	}
	q, _ := ParseAs("10 %", "%")
	if x, err := q.In("%"); err != nil || x != 10 {
		t.Errorf("10 %% in %% = %v, %v", x, err)
	}
}
