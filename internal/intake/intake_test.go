package intake

import (
	"context"
	"encoding/json"
	"math"
	"testing"
)

// driftColumns are the columns of a warm-up log.
func driftColumns() []ColumnSpec {
	return []ColumnSpec{TimeColumn(), FrequencyColumn("frequency", "frequency"), TemperatureColumn("ambient", "ambient temperature"),
		VoltageColumn("line_voltage", "line voltage", "line", "mains", "line voltage", "mains voltage", "netz", "netzspannung"),
		VoltageColumn("ht_voltage", "HT voltage", "ht", "b+", "ht voltage", "anodenspannung")}
}

// readText imports text and fails the test where it is refused.
func readText(t *testing.T, text string, over Override) (*Preview, *Table, *Report) {
	t.Helper()
	return readSource(t, BytesSource("log.txt", []byte(text)), over)
}

func readSource(t *testing.T, src Source, over Override) (*Preview, *Table, *Report) {
	t.Helper()
	p, err := Inspect(src, driftColumns(), over)
	if err != nil {
		t.Fatalf("inspect: %v", err)
	}
	tab, rep, err := ReadAll(context.Background(), src, p.Layout)
	if err != nil {
		t.Fatalf("read: %v\nlayout: %s", err, asJSON(p.Layout))
	}
	return p, tab, rep
}

func asJSON(v any) string {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err.Error()
	}
	return string(b)
}

// same compares two columns to the last bit, NaN equal to NaN.
func same(t *testing.T, what string, got, want []float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d values %v, want %d: %v", what, len(got), got, len(want), want)
		return
	}
	for i := range got {
		if got[i] != want[i] && !(math.IsNaN(got[i]) && math.IsNaN(want[i])) {
			t.Errorf("%s row %d: %v, want %v", what, i+1, got[i], want[i])
		}
	}
}

// TestLogsAsPeopleKeepThem reads one log in many dialects.
func TestLogsAsPeopleKeepThem(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name, text string
		over       Override
		time, freq []float64
		ambient    []float64
	}{
		{name: "comma and point", text: "time,frequency,ambient\n0,7065312.5,20.1\n1,7065311.9,20.2\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}, ambient: []float64{20.1, 20.2}},
		{name: "semicolons and decimal commas, units in headings, CRLF",
			text: "Zeit [min];Frequenz [kHz];Temperatur [°C]\r\n0,5;7065,3125;20,1\r\n1,0;7065,3119;\r\n",
			time: []float64{30, 60}, freq: []float64{7065312.5, 7065311.9}, ambient: []float64{20.1, nan}},
		{name: "tabs, lone CR, units line", text: "t\tf\ts1\rmin\tMc/s\t\r0\t7.0653125\t1\r10\t7.0653119\t2\r",
			time: []float64{0, 600}, freq: []float64{7065312.5, 7065311.9}},
		{name: "blanks and a comment heading", text: "# time_s   freq_hz\n  0.0   7065312.5\n  1.0   7065311.9\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "upright strokes", text: "| time s | freq kHz |\n| 0 | 7065.3125 |\n| 1 | 7065.3119 |\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "thousands points and decimal commas", text: "0;7.065.312,5\n1;7.065.311,9\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "thousands commas", text: "0;7,065,312.5\n1;7,065,311.9\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "no-break blanks between thousands", text: "0;7\u00a0065\u00a0312,5\n1;7\u202f065\u202f311,9\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "apostrophes between thousands", text: "0;7'065'312.5\n1;7'065'311.9\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "quoted cells", text: "\"time\",\"frequency (kHz)\"\n\"0\",\"7,065.3125\"\n\"1\",\"7,065.3119\"\n",
			over: Override{Thousands: "comma", Separator: "comma"},
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "clock across midnight", text: "time,kHz\n23:59:58,7065.3125\n23:59:59.5,7065.3119\n00:00:01,7065.3119\n",
			time: []float64{0, 1.5, 3}, freq: []float64{7065312.5, 7065311.9, 7065311.9}},
		{name: "twelve-hour clock across midnight", text: "time,kHz\n11:59 PM,7065.3125\n12:01 AM,7065.3119\n",
			time: []float64{0, 120}, freq: []float64{7065312.5, 7065311.9}},
		{name: "elapsed mm:ss", text: "0:00 7065.3125\n14:20 7065.3119\n90:00 7065.3119\n",
			time: []float64{0, 860, 5400}, freq: []float64{7065312.5, 7065311.9, 7065311.9}},
		{name: "elapsed h:mm:ss", text: "0:00:00 7065.3125\n0:14:20 7065.3119\n1:30:00 7065.3119\n",
			time: []float64{0, 860, 5400}, freq: []float64{7065312.5, 7065311.9, 7065311.9}},
		{name: "elapsed with letters", text: "0s,7065.3125\n14m20s,7065.3119\n1h30m,7065.3119\n",
			time: []float64{0, 860, 5400}, freq: []float64{7065312.5, 7065311.9, 7065311.9}},
		{name: "stamps with zone over the end of summer time", text: "2024-10-27T02:59:59+02:00,7065.3125\n2024-10-27T02:00:01+01:00,7065.3119\n",
			time: []float64{0, 2}, freq: []float64{7065312.5, 7065311.9}},
		{name: "date and clock in columns of their own", text: "Datum;Uhrzeit;Frequenz kHz\n31.12.2023;23:59:59;7065,3125\n01.01.2024;00:00:01;7065,3119\n",
			time: []float64{0, 2}, freq: []float64{7065312.5, 7065311.9}},
		{name: "stamps cut by blanks", text: "2023-12-31 23:59:59 7065.3125\n2024-01-01 00:00:01 7065.3119\n",
			time: []float64{0, 2}, freq: []float64{7065312.5, 7065311.9}},
		{name: "month first", text: "time,f\n4/30/2024 11:59:59 PM,7065.3125\n5/1/2024 12:00:01 AM,7065.3119\n",
			time: []float64{0, 2}, freq: []float64{7065312.5, 7065311.9}},
		{name: "dates as systems print them", text: "Tue Apr 30 23:59:59 2024;7065.3125\nWed May  1 00:00:01 2024;7065.3119\n",
			time: []float64{0, 2}, freq: []float64{7065312.5, 7065311.9}},
		{name: "dates as systems print them, with a zone", text: "Sun Oct 27 02:59:59 CEST 2024;7065.3125\nSun Oct 27 02:00:01 CET 2024;7065.3119\n",
			time: []float64{0, 2}, freq: []float64{7065312.5, 7065311.9}},
		{name: "dates as in letters", text: "Tue, 30 Apr 2024 23:59:59 +0200;7065.3125\nWed, 1 May 2024 00:00:01 +0200;7065.3119\n",
			time: []float64{0, 2}, freq: []float64{7065312.5, 7065311.9}},
		{name: "a column of remarks", text: "0:00\t7065.3125\tlid on 2 screws\n0:10\t7065.3119\tlid off\n", over: Override{Time: "elapsed"},
			time: []float64{0, 10}, freq: []float64{7065312.5, 7065311.9}},
		{name: "seconds since 1970", text: "time,freq\n1714590000.25,7065312.5\n1714590001.75,7065311.9\n",
			time: []float64{0, 1.5}, freq: []float64{7065312.5, 7065311.9}},
		{name: "one column of readings", text: "7065312.5\n7065311.9\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "one column with decimal commas", text: "7065,3125\n7065,3119\n7065,3120\n",
			time: []float64{0, 1, 2}, freq: []float64{7065312.5, 7065311.9, 7065312}},
		{name: "each cell with its unit", text: "0;7.0653125 MHz\n1;7065.3119 kHz\n2;7065311 c/s\n",
			time: []float64{0, 1, 2}, freq: []float64{7065312.5, 7065311.9, 7065311}},
		{name: "the first cell alone has its unit", text: "0;7065.3125 kc/s\n1;7065.3119\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "minutes by the dial", text: "10 min: 7.0653\n20 min: 7.0651\n1 h: 7.0650\n",
			time: []float64{600, 1200, 3600}, freq: []float64{7065300, 7065100, 7065000}},
		{name: "notes", text: "cold start, mains 231 V\n0:00 7.0641 MHz\nafter 10 min 7.0653\n20 min ... 7.0655 (6SK7 tapped)\nat 1h05 7.0656 MHz.\n",
			time: []float64{0, 600, 1200, 3900}, freq: []float64{7064100, 7065300, 7065500, 7065600}},
		{name: "notes with decimal commas", text: "nach 10 min: 7,0653 MHz\nnach 20 min: 7,0651 MHz\n",
			time: []float64{600, 1200}, freq: []float64{7065300, 7065100}},
		{name: "missing cells", text: "time,frequency,ambient\n0,7065312.5,-\n1,,20.2\n2,n/a,20.3\n",
			time: []float64{0, 1, 2}, freq: []float64{7065312.5, nan, nan}, ambient: []float64{nan, 20.2, 20.3}},
		{name: "true minus signs and exponents", text: "time,freq_hz,temp °C\n0,7.0653125e6,−3.5\n1,7.0653119E+06,−3.25\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}, ambient: []float64{-3.5, -3.25}},
		{name: "preamble", text: "Counter log\nGate;1 s\n\nTime (s);Frequency (Hz)\n0;7065312.5\n1;7065311.9\n",
			time: []float64{0, 1}, freq: []float64{7065312.5, 7065311.9}},
		{name: "index column", text: "No.;Frequency (Hz)\n1;7065312.5\n2;7065311.9\n", over: Override{Spacing: "10 s"},
			time: []float64{10, 20}, freq: []float64{7065312.5, 7065311.9}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, tab, _ := readText(t, c.text, c.over)
			same(t, "time", tab.Time, c.time)
			same(t, "frequency", tab.Columns["frequency"], c.freq)
			if c.ambient != nil {
				same(t, "ambient", tab.Columns["ambient"], c.ambient)
			}
			if t.Failed() {
				t.Log(asJSON(p.Layout))
			}
		})
	}
}
