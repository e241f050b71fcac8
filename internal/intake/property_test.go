package intake

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"
)

// logDialect is one way to write a log.
type logDialect struct {
	sep, decimal, thousands string
	unit                    string
	exponent                int // of ten, of the unit
	ending, encoding        string
	timeForm                string
}

func drawDialect(t *rapid.T) logDialect {
	d := logDialect{
		sep:      rapid.SampledFrom([]string{",", ";", "\t", " | ", "  "}).Draw(t, "separator"),
		decimal:  rapid.SampledFrom([]string{".", ","}).Draw(t, "decimal"),
		ending:   rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "line end"),
		encoding: rapid.SampledFrom([]string{"utf-8", "utf-8 with mark", "utf-16le", "utf-16be", "windows-1252"}).Draw(t, "encoding"),
		timeForm: rapid.SampledFrom([]string{"s", "min", "clock", "stamp", "zoned", "elapsed", "words"}).Draw(t, "times"),
	}
	if d.sep == "," {
		d.decimal = "."
	}
	u := rapid.SampledFrom([]struct {
		name string
		exp  int
	}{{"Hz", 0}, {"kHz", 3}, {"MHz", 6}, {"c/s", 0}, {"kc/s", 3}, {"Mc/s", 6}}).Draw(t, "unit")
	d.unit, d.exponent = u.name, u.exp
	if d.exponent == 0 { // only such numbers have thousands
		d.thousands = rapid.SampledFrom([]string{"", "'", "\u00a0", map[string]string{".": ",", ",": "."}[d.decimal]}).Draw(t, "thousands")
		if d.sep == "," || d.sep == "  " || strings.HasPrefix(d.encoding, "windows") {
			d.thousands = ""
		}
	}
	return d
}

// number writes digits × 10^−decimals in the dialect.
func (d logDialect) number(digits int64, decimals int) string {
	text := strconv.FormatInt(digits, 10)
	for len(text) <= decimals {
		text = "0" + text
	}
	head, tail := text[:len(text)-decimals], text[len(text)-decimals:]
	if d.thousands != "" {
		for i := len(head) - 3; i > 0; i -= 3 {
			head = head[:i] + d.thousands + head[i:]
		}
	}
	if decimals == 0 {
		return head
	}
	return head + d.decimal + tail
}

// time writes a number of milliseconds from the start, and gives what it means
// in seconds from the zero of the log.
func (d logDialect) time(ms, first int64) (string, float64) {
	start := time.Date(2024, 10, 26, 22, 0, 0, 0, time.UTC)
	at := start.Add(time.Duration(ms) * time.Millisecond)
	rel := float64(ms-first) / 1000
	clock := func(ms int64) string {
		return fmt.Sprintf("%d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
	}
	switch d.timeForm {
	case "s":
		return logDialect{decimal: d.decimal}.number(ms, 3), float64(ms) / 1000
	case "min":
		text := logDialect{decimal: d.decimal}.number(ms, 3)
		return text, float64(ms) / 1000 * 60
	case "clock":
		return at.Format("15:04:05.000"), rel
	case "stamp":
		return at.Format("2006-01-02T15:04:05.000"), rel
	case "zoned": // the zone changes an hour after the start
		zone := time.FixedZone("", 7200)
		if at.After(start.Add(time.Hour)) {
			zone = time.FixedZone("", 3600)
		}
		return at.In(zone).Format("2006-01-02T15:04:05.000Z07:00"), rel
	case "elapsed":
		return clock(ms), float64(ms) / 1000
	}
	return fmt.Sprintf("%dm%02d.%03ds", ms/60000, ms/1000%60, ms%1000), float64(ms) / 1000
}

func (d logDialect) encode(t *rapid.T, text string) []byte {
	wide := func(mark string, high, low int) []byte {
		out := []byte(mark)
		for _, u := range utf16.Encode([]rune(text)) {
			pair := [2]byte{}
			pair[high], pair[low] = byte(u>>8), byte(u)
			out = append(out, pair[:]...)
		}
		return out
	}
	switch d.encoding {
	case "utf-8 with mark":
		return []byte("\ufeff" + text)
	case "utf-16le":
		return wide("\xff\xfe", 1, 0)
	case "utf-16be":
		return wide("\xfe\xff", 0, 1)
	case "windows-1252":
		out, err := charmap.Windows1252.NewEncoder().String(text)
		if err != nil {
			t.Fatal(err)
		}
		return []byte(out)
	}
	return []byte(text)
}

// TestAnyLogInAnyDialect writes a random log in a random dialect and reads the
// same numbers back, to the last bit (times with parts of minutes to 1 ns).
func TestAnyLogInAnyDialect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDialect(t)
		n := rapid.IntRange(3, 60).Draw(t, "rows")
		decimals := rapid.IntRange(1, 3).Draw(t, "decimals") + d.exponent
		if rapid.Bool().Draw(t, "coarse") && d.exponent > 0 {
			decimals = d.exponent - 1
		}
		var b strings.Builder
		fmt.Fprintf(&b, "# log of the oscillator%[1]stime%[2]s%[3]sFrequency (%[4]s)%[3]sTemp (°C)%[1]s", d.ending, timeUnit(d), d.sep, d.unit)
		var times, freqs, temps []float64
		first := rapid.Int64Range(0, 3*60*1000).Draw(t, "first time")
		if d.timeForm == "clock" {
			first += 700 * 1000 // not near midnight or it would look elapsed
		}
		ms := first
		for range n {
			digits := 7065312*pow(10, decimals)/pow(10, d.exponent) + rapid.Int64Range(-9000, 9000).Draw(t, "digits")
			timeText, seconds := d.time(ms, first)
			temp := rapid.Int64Range(100, 400).Draw(t, "temperature")
			tempText := d.number(temp, 1)
			temps = append(temps, float64(temp)/10)
			if d.sep != "  " && rapid.IntRange(0, 9).Draw(t, "missing") == 0 {
				tempText, temps[len(temps)-1] = "", math.NaN()
			}
			fmt.Fprintf(&b, "%s%s%s%s%s%s", timeText, d.sep, d.number(digits, decimals), d.sep, tempText, d.ending)
			v, err := strconv.ParseFloat(fmt.Sprintf("%de%d", digits, d.exponent-decimals), 64)
			if err != nil {
				t.Fatal(err)
			}
			times, freqs = append(times, seconds), append(freqs, v)
			ms += rapid.Int64Range(1, 600000).Draw(t, "step")
		}
		src := BytesSource("log", d.encode(t, b.String()))
		p, err := Inspect(src, driftColumns(), Override{})
		if err != nil {
			t.Fatalf("%+v\n%s\n%v", d, b.String(), err)
		}
		tab, rep, err := ReadAll(t.Context(), src, p.Layout)
		if err != nil {
			t.Fatalf("%+v\n%s\n%v\n%s", d, b.String(), err, asJSON(p.Layout))
		}
		near(t, "time", tab.Time, times, 1e-9)
		near(t, "frequency", tab.Columns["frequency"], freqs, 0)
		near(t, "ambient", tab.Columns["ambient"], temps, 0)
		if want := math.Pow10(d.exponent - decimals); rep.Column("frequency").Resolution != want {
			t.Errorf("resolution %v, want %v", rep.Column("frequency").Resolution, want)
		}
		if t.Failed() {
			t.Logf("%+v\n%s\n%s", d, b.String(), asJSON(p.Layout))
		}
	})
}

func timeUnit(d logDialect) string {
	if d.timeForm == "s" || d.timeForm == "min" {
		return " (" + d.timeForm + ")"
	}
	return ""
}

func pow(b int64, n int) int64 {
	out := int64(1)
	for range n {
		out *= b
	}
	return out
}

func near(t *rapid.T, what string, got, want []float64, tol float64) {
	if len(got) != len(want) {
		t.Errorf("%s: %d values, want %d", what, len(got), len(want))
		return
	}
	for i := range got {
		if math.IsNaN(got[i]) != math.IsNaN(want[i]) || math.Abs(got[i]-want[i]) > tol*math.Max(1, math.Abs(want[i])) {
			t.Errorf("%s row %d: %.17g, want %.17g", what, i+1, got[i], want[i])
		}
	}
}

// TestNumbersAreExact compares the number scanner with strconv on any decimal
// text and any power of ten.
func TestNumbersAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[-+]?[0-9]{0,25}(\.[0-9]{0,25})?([eE][-+]?[0-9]{1,3})?`).Draw(t, "text")
		shift := rapid.SampledFrom([]int{0, 3, 6, -3}).Draw(t, "shift")
		n, took := scanNumber([]byte(text), numFormat{decimal: '.'}, shift)
		mantissa, exp, _ := strings.Cut(strings.ToLower(text), "e")
		e := shift
		if exp != "" {
			x, err := strconv.Atoi(exp)
			if err != nil {
				t.Fatal(err)
			}
			e += x
		}
		want, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(e), 64)
		if took == 0 || took != len(text) {
			if err == nil {
				t.Fatalf("%q: took %d, but it is %v", text, took, want)
			}
			return
		}
		if err != nil {
			t.Fatalf("%q: taken as %v, strconv says %v", text, n.value, err)
		}
		if n.value != want {
			t.Fatalf("%q × 10^%d: %v, want %v", text, shift, n.value, want)
		}
	})
}

// TestDaysFromCivil compares the calendar with package time.
func TestDaysFromCivil(t *testing.T) {
	for day := time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC); day.Year() < 2201; day = day.AddDate(0, 0, 1) {
		if got, want := daysFromCivil(day.Year(), int(day.Month()), day.Day())*86400, day.Unix(); got != want {
			t.Fatalf("%v: %d, want %d", day, got, want)
		}
	}
}
