package chart

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"setwright/internal/measure"
)

func labelsOf(ticks []Tick) string {
	var out []string
	for _, t := range ticks {
		out = append(out, strings.ReplaceAll(t.Label, thinSpace, "_"))
	}
	return strings.Join(out, " ")
}

// Thin spaces are shown as "_" in these tables.
func TestLinearTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		most   int
		want   string
	}{
		{-2200, 200, 6, "−2_000 −1_500 −1_000 −500 0"},
		{0, 1, 5, "0.0 0.5 1.0"},
		{0, 1, 6, "0.0 0.2 0.4 0.6 0.8 1.0"},
		{-0.3, 0.3, 7, "−0.3 −0.2 −0.1 0.0 0.1 0.2 0.3"},
		{7.0627, 7.0656, 6, "7.0630 7.0635 7.0640 7.0645 7.0650 7.0655"},
		{7.0627, 7.0656, 5, "7.063 7.064 7.065"},
		{0, 25000, 6, "0 5_000 10_000 15_000 20_000 25_000"},
		{-1e-9, 1e-9, 3, "−0.000000001 0.000000000 0.000000001"},
		{3, 3, 5, ""},
		{5, 2, 5, ""},
		{math.NaN(), 2, 5, ""},
		{0, math.Inf(1), 5, ""},
	} {
		if got := labelsOf(LinearTicks(c.lo, c.hi, c.most)); got != c.want {
			t.Errorf("LinearTicks(%v, %v, %d) = %q, want %q", c.lo, c.hi, c.most, got, c.want)
		}
	}
}

func TestTimeTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi     float64
		most       int
		unit, want string
	}{
		{0, 3600, 6, "min", "0 15 30 45 60"},
		{0, 5400, 8, "min", "0 15 30 45 60 75 90"},
		{0, 7200, 6, "min", "0 30 60 90 120"},
		{0, 90, 8, "s", "0 15 30 45 60 75 90"},
		{0, 60, 4, "s", "0 20 40 60"},
		{0, 8 * 3600, 6, "h", "0 2 4 6 8"},
		{0, 48 * 3600, 5, "h", "0 12 24 36 48"},
		{0, 10 * 86400, 6, "d", "0 2 4 6 8 10"},
		{0, 2, 5, "s", "0.0 0.5 1.0 1.5 2.0"},
		{-600, 600, 5, "min", "−10 −5 0 5 10"},
	} {
		unit, ticks := TimeTicks(c.lo, c.hi, c.most)
		if got := labelsOf(ticks); got != c.want || unit != c.unit {
			t.Errorf("TimeTicks(%v, %v, %d) = %s: %q, want %s: %q", c.lo, c.hi, c.most, unit, got, c.unit, c.want)
		}
	}
}

func TestLogTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		most   int
		want   string
	}{
		{1e-10, 1e-7, 8, "10⁻¹⁰ 3×10⁻¹⁰ 10⁻⁹ 3×10⁻⁹ 10⁻⁸ 3×10⁻⁸ 10⁻⁷"},
		{1, 10000, 8, "1 10 100 1_000 10_000"},
		{10, 4000, 9, "10 20 50 100 200 500 1_000 2_000"},
		{1e-12, 1e12, 6, "10⁻¹⁰ 10⁻⁵ 10⁰ 10⁵ 10¹⁰"},
		{2e-9, 6e-9, 6, "2×10⁻⁹ 3×10⁻⁹ 4×10⁻⁹ 5×10⁻⁹ 6×10⁻⁹"},
		{0.02, 0.9, 8, "0.02 0.05 0.1 0.2 0.5"},
		{1.01, 1.09, 5, "1.02 1.04 1.06 1.08"},
		{0, 10, 5, ""},
		{-1, 10, 5, ""},
	} {
		ticks, _ := LogTicks(c.lo, c.hi, c.most)
		if got := labelsOf(ticks); got != c.want {
			t.Errorf("LogTicks(%v, %v, %d) = %q, want %q", c.lo, c.hi, c.most, got, c.want)
		}
	}
}

func TestDateTicks(t *testing.T) {
	at := func(s string) time.Time {
		d, err := time.Parse("2006-01-02", s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for _, c := range []struct {
		from, to string
		most     int
		want     string
	}{
		{"2024-02-10", "2024-11-25", 6, "Apr 2024|Jul 2024|Oct 2024"},
		{"2024-02-10", "2024-02-20", 6, "11 Feb|13 Feb|15 Feb|17 Feb|19 Feb"},
		{"2024-02-10", "2024-02-11", 4, "10 Feb 00:00|10 Feb 12:00|11 Feb 00:00"},
		{"2019-05-01", "2024-05-01", 6, "2020|2021|2022|2023|2024"},
		{"1956-01-01", "2024-05-01", 6, "1960|1980|2000|2020"},
	} {
		var got []string
		for _, k := range DateTicks(at(c.from), at(c.to), c.most) {
			got = append(got, k.Label)
		}
		if strings.Join(got, "|") != c.want {
			t.Errorf("%s to %s: %q, want %q", c.from, c.to, got, c.want)
		}
	}
	if DateTicks(at("2024-01-01"), at("2024-01-01"), 5) != nil {
		t.Error("no stretch of time has no ticks")
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{-2000, 0, "−2_000"}, {-0.04, 1, "0.0"}, {math.Copysign(0, -1), 0, "0"}, {-0.4, 0, "0"},
		{999, 0, "999"}, {1234567.25, 2, "1_234_567.25"}, {-0.05, 2, "−0.05"}, {12, -2, "12"},
	} {
		if got := strings.ReplaceAll(Number(c.v, c.decimals), thinSpace, "_"); got != c.want {
			t.Errorf("Number(%v, %d) = %q, want %q", c.v, c.decimals, got, c.want)
		}
	}
}

func TestAxisInUnitsPeopleRead(t *testing.T) {
	for _, c := range []struct {
		axis   measure.Axis
		lo, hi float64
		title  string
		ticks  string
	}{
		{measure.Axis{Label: "frequency", Unit: "Hz"}, 7.0627e6, 7.0656e6, "frequency, MHz", "7.0630 7.0635 7.0640 7.0645 7.0650 7.0655"},
		{measure.Axis{Label: "frequency", Unit: "Hz"}, 0, 2400, "frequency, Hz", "0 500 1_000 1_500 2_000"},
		{measure.Axis{Label: "frequency", Unit: "Hz"}, 0, 24000, "frequency, kHz", "0 5 10 15 20"},
		{measure.Axis{Label: "frequency", Unit: "Hz"}, 7065123, 7065126, "frequency, Hz from 7_065_120 Hz", "3.0 3.5 4.0 4.5 5.0 5.5 6.0"},
		{measure.Axis{Unit: "Hz", Offset: 7065123.4, OffsetLabel: "from closing value"}, -2200, 200,
			"Hz from closing value (7_065_123 Hz)", "−2_000 −1_500 −1_000 −500 0"},
		{measure.Axis{Label: "signal", Unit: "V"}, 0, 4e-5, "signal, µV", "0 10 20 30 40"},
		{measure.Axis{Label: "fractional frequency", Unit: "1"}, -3e-9, 3e-9, "fractional frequency, 10⁻⁹", "−3 −2 −1 0 1 2 3"},
		{measure.Axis{Label: "level", Unit: "dBm"}, -110, -20, "level, dBm", "−100 −80 −60 −40 −20"},
		{measure.Axis{Label: "time from power-on", Unit: "s"}, 0, 3600, "minutes from power-on", "0 10 20 30 40 50 60"},
		{measure.Axis{Label: "time", Unit: "s"}, 0, 0.02, "time, ms", "0 5 10 15 20"},
	} {
		s := newScale(c.axis, c.lo, c.hi, 7)
		title, ticks := strings.ReplaceAll(s.titles[0], thinSpace, "_"), labelsOf(s.ticks)
		title = strings.ReplaceAll(title, "\u00a0", " ")
		if title != c.title || ticks != c.ticks {
			t.Errorf("%v %v..%v:\n got %q %q\nwant %q %q", c.axis, c.lo, c.hi, title, ticks, c.title, c.ticks)
		}
	}
}

// checkTicks holds what every axis promises.
func checkTicks(t *rapid.T, ticks []Tick, lo, hi float64, most int) {
	if len(ticks) > most {
		t.Fatalf("%d ticks, at most %d wanted: %v", len(ticks), most, ticks)
	}
	seen := map[string]bool{}
	for i, k := range ticks {
		switch {
		case k.Value < lo || k.Value > hi:
			t.Fatalf("tick %v outside %v to %v", k, lo, hi)
		case i > 0 && k.Value <= ticks[i-1].Value:
			t.Fatalf("ticks do not ascend: %v", ticks)
		case seen[k.Label]:
			t.Fatalf("label %q twice in %v", k.Label, ticks)
		case strings.Contains(k.Label, "-") || k.Label == minus+"0":
			t.Fatalf("label %q", k.Label)
		}
		seen[k.Label] = true
	}
}

func anyRange(t *rapid.T) (lo, hi float64) {
	lo = rapid.Float64Range(-1e12, 1e12).Draw(t, "lo")
	span := math.Pow(10, rapid.Float64Range(-9, 13).Draw(t, "span"))
	return lo, lo + max(span, math.Abs(lo)*1e-9)
}

func TestLinearTicksProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo, hi := anyRange(t)
		most := rapid.IntRange(2, 15).Draw(t, "most")
		ticks := LinearTicks(lo, hi, most)
		checkTicks(t, ticks, lo, hi, most)
		if most >= 5 && len(ticks) < 2 {
			t.Fatalf("%d ticks from %v to %v", len(ticks), lo, hi)
		}
	})
}

func TestLinearTicksOfHugeRanges(t *testing.T) {
	for _, c := range [][2]float64{{-1e308, 1e308}, {0, 5e-324}, {-math.MaxFloat64, math.MaxFloat64}, {1e15, 1e15 + 1}} {
		ticks := LinearTicks(c[0], c[1], 6)
		if len(ticks) > 6 || !slices.IsSortedFunc(ticks, func(a, b Tick) int {
			if a.Value < b.Value {
				return -1
			}
			return 1
		}) {
			t.Errorf("%v: %v", c, ticks)
		}
	}
}

func TestTimeTicksProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(0, 1e6).Draw(t, "lo")
		hi := lo + math.Pow(10, rapid.Float64Range(0, 8).Draw(t, "span"))
		most := rapid.IntRange(2, 15).Draw(t, "most")
		_, ticks := TimeTicks(lo, hi, most)
		checkTicks(t, ticks, lo*(1-1e-12), hi*(1+1e-12), most)
	})
}

func TestLogTicksProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := math.Pow(10, rapid.Float64Range(-20, 20).Draw(t, "lo"))
		hi := lo * math.Pow(10, rapid.Float64Range(0.02, 20).Draw(t, "decades"))
		most := rapid.IntRange(2, 12).Draw(t, "most")
		ticks, minor := LogTicks(lo, hi, most)
		checkTicks(t, ticks, lo, hi, most)
		if most >= 5 && len(ticks) < 2 {
			t.Fatalf("%d ticks from %v to %v", len(ticks), lo, hi)
		}
		for _, m := range minor {
			if m.Value < lo || m.Value > hi || m.Label != "" {
				t.Fatalf("minor tick %v", m)
			}
		}
	})
}
