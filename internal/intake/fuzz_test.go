package intake

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// seedLogs are texts in many styles for the fuzz targets to start from.
var seedLogs = []string{
	"", "\xff\xfe", "PK\x03\x04", "time,frequency,ambient\n0,7065312.5,20.1\n1,7065311.9,20.2\n",
	"Zeit [min];Frequenz [kHz];Temperatur [\xb0C]\r\n0,5;7.065,3125;20,1\r\n1,0;7.065,3119;\r\n",
	"10 min: 7.0653\n20 min: 7.0651\nafter 1 h 5 min 7.0650 MHz\n", "0:00 7065.3\n14:20 7065.2\n", "\"a\"\"b\",\"1,5\"\n2,3\n",
	"2024-10-27T02:59:59+02:00,7065.3125\n2024-10-27T02:00:01+01:00,7065.3119\n", "|1|2|\n|3|4|\n", "# column0: f in Hz\r7\r8\r",
	"12:00 AM;−1e400 kHz\n", "5/13/24 7:05 pm\t1'000.5\n", "1714590000.25 NaN\n1714590001.75 Inf\n",
}

// seedFiles adds the files of testdata with an ending.
func seedFiles(f *testing.F, pattern string) {
	f.Helper()
	names, err := filepath.Glob(filepath.Join("testdata", pattern))
	if err != nil {
		f.Fatal(err)
	}
	for _, n := range names {
		b, err := os.ReadFile(n)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
}

// tryAll runs a source through preview and import and checks what must hold for
// any input: no panic, an error or a report that fits its table, and a preview
// that shows what the import takes.
func tryAll(t *testing.T, data []byte, over Override) {
	t.Helper()
	src := BytesSource("log", data)
	p, err := Inspect(src, driftColumns(), over)
	if err != nil {
		if strings.TrimSpace(err.Error()) == "" {
			t.Error("an error without words")
		}
		return
	}
	tab, rep, err := ReadAll(context.Background(), src, p.Layout)
	if err != nil {
		return
	}
	for role, col := range tab.Columns {
		if len(col) != rep.Rows {
			t.Errorf("%s: %d values in %d rows", role, len(col), rep.Rows)
		}
		for _, v := range col {
			if math.IsInf(v, 0) {
				t.Errorf("%s: infinite value", role)
			}
		}
	}
	for i, s := range tab.Time {
		if math.IsNaN(s) || math.IsInf(s, 0) {
			t.Errorf("row %d: time %v", i, s)
		}
	}
	if len(p.Head) > 0 && p.Head[0].TimeS != nil && len(tab.Time) > 0 && *p.Head[0].TimeS != tab.Time[0] {
		t.Errorf("preview shows time %v, import takes %v", *p.Head[0].TimeS, tab.Time[0])
	}
}

func FuzzInspect(f *testing.F) {
	for _, s := range seedLogs {
		f.Add([]byte(s))
	}
	seedFiles(f, "*.*")
	f.Fuzz(func(t *testing.T, data []byte) { tryAll(t, data, Override{}) })
}

// FuzzRead forces layouts onto texts that they were not found for.
func FuzzRead(f *testing.F) {
	for i, s := range seedLogs {
		f.Add([]byte(s), uint8(i), uint8(i), uint8(i), i)
	}
	f.Fuzz(func(t *testing.T, data []byte, sep, form, column uint8, skip int) {
		forms := []string{"", TimeNumber, TimeElapsed, TimeElapsedHM, TimeClock, TimeStamp, TimeUnix, TimeUnixMillis, TimeIndex}
		over := Override{Separator: append(separators, "")[int(sep)%8], Decimal: []string{"", MarkPoint, MarkComma}[int(sep)%3],
			Time: forms[int(form)%len(forms)], Skip: max(0, skip%10), Start: []string{"", "12:00", "2024-05-01 19:00"}[int(form)%3],
			DateOrder: append(dateOrders, "")[int(column)%4]}
		if n := int(column)%5 + 1; column%2 == 0 {
			over.Columns = map[int]ColumnOverride{n: {Role: RoleTime}, n%5 + 1: {Role: "frequency", Unit: "kHz"}}
		}
		tryAll(t, data, over)
	})
}

func FuzzODS(f *testing.F) {
	f.Add(`<table:table table:name="a"></table:table>`)
	f.Add(odsLog)
	f.Fuzz(func(t *testing.T, table string) { tryAll(t, document(t, table), Override{}) })
}

func FuzzXLSX(f *testing.F) {
	f.Add(workbook(f))
	f.Add(document(f, odsLog))
	f.Fuzz(func(t *testing.T, data []byte) { tryAll(t, data, Override{}) })
}

// FuzzTime checks that no time is read beyond its text, and that what is read is
// finite.
func FuzzTime(f *testing.F) {
	for _, s := range []string{"0:00", "14m20s", "1 h 5 min", "23:59:59,999", "7:05 PM", "2024-05-01T19:00:00.25+02:00", "1.5.24 19:00", "1 May 2024 7:05 am CEST", "20240501T1905Z", "10'30\"", "1h05", "+5 min", "-0:10"} {
		f.Add(s)
	}
	for _, piece := range []string{"-", "+", "−", "1:", "1 h ", "1."} { // signs once recursed, one level each
		f.Add(strings.Repeat(piece, 5000))
	}
	f.Fuzz(func(t *testing.T, text string) {
		b := []byte(text)
		check := func(what string, seconds float64, took int) {
			if took < 0 || took > len(b) || math.IsNaN(seconds) || math.IsInf(seconds, 0) {
				t.Errorf("%s of %q: %v s from %d bytes", what, text, seconds, took)
			}
		}
		for _, hourFirst := range []bool{false, true} {
			d, took := scanElapsed(b, hourFirst)
			check("elapsed", d.seconds, took)
		}
		d, took := scanClock(b)
		check("clock", d.seconds, took)
		if took > 0 && (d.seconds < 0 || d.seconds > 86401) {
			t.Errorf("clock of %q: %v", text, d.seconds)
		}
		for _, order := range []dateOrder{dayFirst, monthFirst, yearFirst} {
			s, took := scanStamp(b, order, true)
			check("stamp", s.fraction, took)
		}
		timeCell, value, _ := splitNote(b, numFormat{decimal: '.'})
		if len(timeCell) > len(b) || len(value) > len(b) {
			t.Errorf("note %q: %q %q", text, timeCell, value)
		}
		if _, err := parseStart(text); err == nil {
			if _, err := parseSpacing(text); err == nil {
				t.Logf("%q is both a start and a spacing", text)
			}
		}
	})
}
