package intake

import (
	"bytes"
	"context"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

func readFile(t *testing.T, name string) (*Preview, *Table, *Report) {
	t.Helper()
	src, err := FileSource(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return readSource(t, src, Override{})
}

// A club member in Germany sends the log of his warm-up run.
func TestALogFromGermany(t *testing.T) {
	p, tab, rep := readFile(t, "aufwaermlauf-latin1.csv")
	same(t, "time", tab.Time, []float64{0, 300, 600, 1200})
	same(t, "frequency", tab.Columns["frequency"], []float64{7520104.2, 7520551.3, 7520720.1, 7520801.9})
	same(t, "ambient", tab.Columns["ambient"], []float64{19.5, 19.6, math.NaN(), 19.9})
	same(t, "line", tab.Columns["line_voltage"], []float64{231, 230, 231, 230})
	l := p.Layout
	if l.Encoding.Value != "windows-1252" || l.Separator.Value != SepSemicolon || l.Decimal.Value != MarkComma || l.Thousands.Value != MarkPoint || l.HeaderLine != 4 {
		t.Errorf("layout: %s", asJSON(l))
	}
	if f := rep.Column("frequency"); f.Resolution != 0.1 || f.Decimals != 4 {
		t.Errorf("0.1 Hz was typed, in 4 decimals; got %+v", f)
	}
	if got := rep.Column("ambient").Missing; got != 1 {
		t.Errorf("missing: %d", got)
	}
}

// A spreadsheet was saved as "Unicode text".
func TestTextFromASpreadsheet(t *testing.T) {
	_, tab, rep := readFile(t, "sheet-utf16.txt")
	same(t, "time", tab.Time, []float64{0, 300, 3600})
	same(t, "frequency", tab.Columns["frequency"], []float64{7520104.2, 7520551.3, 7520801.9})
	same(t, "ambient", tab.Columns["ambient"], []float64{19.5, 19.6, 20.1})
	if rep.TimeForm != TimeElapsed {
		t.Errorf("form %s", rep.TimeForm)
	}
}

// The counter was read off through midnight, with remarks between.
func TestALogAcrossMidnight(t *testing.T) {
	_, tab, rep := readFile(t, "clock-midnight.log")
	same(t, "time", tab.Time, []float64{0, 30, 60, 90, 120, 150})
	same(t, "frequency", tab.Columns["frequency"], []float64{455012, 455020, 455026, 455031, 455034, 455036})
	if rep.Blank != 1 || rep.Comments != 3 || rep.Notes[2].Text != "# mains dipped, lamp flickered" || rep.Notes[2].Line != 9 {
		t.Errorf("remarks: %s", asJSON(rep))
	}
	if rep.Backwards.Count != 0 {
		t.Errorf("midnight is not backwards: %s", asJSON(rep.Backwards))
	}
	_, tab, _ = readSource(t, fileSource(t, "clock-midnight.log"), Override{Start: "23:58:30"})
	same(t, "time from power-on", tab.Time, []float64{40, 70, 100, 130, 160, 190})
}

func fileSource(t *testing.T, name string) Source {
	t.Helper()
	src, err := FileSource(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return src
}

// Six glances at a clock and a dial are a run.
func TestGlances(t *testing.T) {
	p, tab, rep := readFile(t, "glances.txt")
	same(t, "time", tab.Time, []float64{120, 300, 600, 1800, 3600})
	same(t, "frequency", tab.Columns["frequency"], []float64{7520100, 7520400, 7520600, 7520800, 7520800})
	if rep.SetAside.Count != 1 || rep.SetAside.First[0].Line != 2 {
		t.Errorf("the reading without a time is set aside with its place: %s", asJSON(rep.SetAside))
	}
	if u := p.Layout.Column("frequency").Unit; u.Value != "MHz" || u.Certain {
		t.Errorf("megahertz is a guess and said to be one: %+v", u)
	}
	src := fileSource(t, "glances.txt")
	over := Override{}
	if err := over.Set("column", "2=frequency:kHz"); err != nil {
		t.Fatal(err)
	}
	_, tab, _ = readSource(t, src, over)
	same(t, "frequency said to be in kHz", tab.Columns["frequency"], []float64{7520.1, 7520.4, 7520.6, 7520.8, 7520.8})
}

// workbook makes an .xlsx with a cover sheet and a log with real dates in it.
func workbook(t testing.TB) []byte {
	t.Helper()
	f := excelize.NewFile()
	must := func(err error) {
		if err != nil {
			t.Helper()
			t.Fatal(err)
		}
	}
	must(f.SetCellValue("Sheet1", "A1", "Warm-up of Turnstone"))
	_, err := f.NewSheet("log")
	must(err)
	stamp := "yyyy-mm-dd hh:mm:ss"
	style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &stamp})
	must(err)
	must(f.SetSheetRow("log", "A1", &[]any{"time", "frequency (kHz)", "ambient (°C)"}))
	start := time.Date(2024, 5, 1, 23, 59, 30, 0, time.UTC)
	for i, v := range []float64{7520.1042, 7520.5513, 7520.8019} {
		cell, err := excelize.CoordinatesToCellName(1, i+2)
		must(err)
		must(f.SetSheetRow("log", cell, &[]any{start.Add(time.Duration(i) * 30 * time.Second), v}))
		must(f.SetCellStyle("log", cell, cell, style))
	}
	must(f.SetCellValue("log", "C3", 19.5))
	var b bytes.Buffer
	must(f.Write(&b))
	return b.Bytes()
}

func TestAWorkbook(t *testing.T) {
	p, tab, rep := readSource(t, BytesSource("log.xlsx", workbook(t)), Override{})
	same(t, "time", tab.Time, []float64{0, 30, 60})
	same(t, "frequency", tab.Columns["frequency"], []float64{7520104.2, 7520551.3, 7520801.9})
	same(t, "ambient", tab.Columns["ambient"], []float64{math.NaN(), 19.5, math.NaN()})
	if p.Layout.Sheet.Value != "log" || rep.Start == nil || rep.Start.Format(time.DateTime) != "2024-05-01 23:59:30" {
		t.Errorf("sheet %+v, start %v", p.Layout.Sheet, rep.Start)
	}
	if tab.Lines[0] != 2 {
		t.Errorf("first row %d, want 2", tab.Lines[0])
	}
	if _, err := Inspect(BytesSource("log.xlsx", workbook(t)), driftColumns(), Override{Sheet: "none"}); err == nil || !strings.Contains(err.Error(), `expected a sheet named "none"`) {
		t.Errorf("a sheet that is not there: %v", err)
	}
}

// document makes an .ods of the given table body.
func document(t testing.TB, table string) []byte {
	t.Helper()
	content := `<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"` +
		` xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0">` +
		`<office:body><office:spreadsheet>` + table + `</office:spreadsheet></office:body></office:document-content>`
	return zipped(t, map[string]string{"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": content})
}

const odsLog = `<table:table table:name="log"><table:table-column/>` +
	`<table:table-row><table:table-cell office:value-type="string"><text:p>time</text:p></table:table-cell>` +
	`<table:table-cell office:value-type="string"><text:p>frequency<text:s/>(kHz)</text:p></table:table-cell>` +
	`<table:table-cell table:number-columns-repeated="16382"/></table:table-row>` +
	`<table:table-row table:number-rows-repeated="2"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>` +
	`<table:table-row><table:table-cell office:value-type="time" office:time-value="PT23H59M30S"><text:p>23:59</text:p></table:table-cell>` +
	`<table:table-cell office:value-type="float" office:value="7520.1042"><text:p>7520,1</text:p></table:table-cell></table:table-row>` +
	`<table:table-row><table:table-cell office:value-type="time" office:time-value="PT00H00M00.5S"><text:p>0:00</text:p></table:table-cell>` +
	`<table:table-cell office:value-type="float" office:value="7520.5513"><office:annotation><text:p>lid moved</text:p></office:annotation><text:p>7520,6</text:p></table:table-cell></table:table-row>` +
	`<table:table-row table:number-rows-repeated="1048570"><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>`

func TestAnOpenDocument(t *testing.T) {
	_, tab, rep := readSource(t, BytesSource("log.ods", document(t, odsLog)), Override{})
	same(t, "time", tab.Time, []float64{0, 30.5})
	same(t, "frequency", tab.Columns["frequency"], []float64{7520104.2, 7520551.3})
	if len(tab.Lines) != 2 || tab.Lines[0] != 4 || rep.Rows != 2 {
		t.Errorf("rows %v: the two empty rows count", tab.Lines)
	}
}

// The log was stopped and started again into the same file; two readings fell
// into one second; the last line was cut off.
func TestWhatIsKeptWithAWarning(t *testing.T) {
	_, tab, rep := readText(t, "time,freq_hz\n0,7065312.5\n1,7065311.9\n1,7065311.8\ntime,freq_hz\n0.5,7065311.7\n2,70653", Override{})
	same(t, "time", tab.Time, []float64{0, 1, 1, 0.5, 2})
	if rep.Repeated.Count != 1 || rep.Repeated.First[0].Line != 4 || rep.Restarts.Count != 1 || rep.Restarts.First[0].Line != 5 ||
		rep.Backwards.Count != 1 || rep.Backwards.First[0].Line != 6 || !rep.CutOff {
		t.Errorf("report: %s", asJSON(rep))
	}
	if len(rep.Warnings) != 4 {
		t.Errorf("warnings: %q", rep.Warnings)
	}
}

// Batches hold what the whole holds, and lines name their places.
func TestBatches(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,freq_hz\n")
	for range 10000 {
		b.WriteString("1,7065312.5\n")
	}
	src := BytesSource("log", []byte(b.String()))
	p, err := Inspect(src, driftColumns(), Override{})
	if err != nil {
		t.Fatal(err)
	}
	rows, last, calls := 0, 1, 0
	rep, err := Read(context.Background(), src, p.Layout, func(b *Batch) error {
		calls++
		for _, l := range b.Lines {
			if l != last+1 {
				t.Fatalf("line %d after %d", l, last)
			}
			last = l
		}
		rows += b.Len()
		return nil
	}, func(done, total int64) {
		if done > total || total != int64(b.Len()) {
			t.Errorf("progress %d of %d", done, total)
		}
	})
	if err != nil || rows != 10000 || rep.Rows != 10000 || calls < 3 {
		t.Errorf("%d rows in %d batches: %v", rows, calls, err)
	}
}

// The first row is short, or wrong: it is read or complained about, not passed
// over in silence.
func TestTheFirstRowIsNotLost(t *testing.T) {
	_, tab, _ := readText(t, "0,7065312.5\n1,7065311.9,20\n2,7065311.8,20\n", Override{})
	same(t, "time", tab.Time, []float64{0, 1, 2})
	if err := importError("0,x\n1,7065311.9\n2,7065311.8\n", Override{}); err == nil || !strings.Contains(err.Error(), "line 1, column 2") {
		t.Error(err)
	}
}
