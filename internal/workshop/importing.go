package workshop

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/run"
)

// Preview looks at a log as an import of the measurement would read it. Nothing
// is stored.
func (s *Shop) Preview(measurement string, src intake.Source, over intake.Override) (*intake.Preview, error) {
	m, err := s.Registry.Get(measurement)
	if err != nil {
		return nil, err
	}
	return intake.Inspect(src, wantedColumns(m.About()), over)
}

// Imported is what an import brought into the book.
type Imported struct {
	Run    run.Run
	Report *intake.Report
	Layout intake.Layout
}

// Import stores a log as a run: the file byte for byte, and the readings by the
// layout that the preview showed. Either all of it is stored or nothing.
// progress is called with bytes done and in all, and may be nil.
func (s *Shop) Import(ctx context.Context, n NewRun, src intake.Source, over intake.Override, progress func(done, total int64)) (Imported, error) {
	preview, err := s.Preview(n.Measurement, src, over)
	if err != nil {
		return Imported{}, err
	}
	if err := usable(src.Name, preview); err != nil {
		return Imported{}, err
	}
	m, r, err := s.newRun(ctx, n)
	if err != nil {
		return Imported{}, err
	}
	if r.Started.IsZero() && preview.Report != nil && preview.Report.Start != nil {
		r.Started = *preview.Report.Start
	}
	if r.Setup.Day == "" && !r.Started.IsZero() {
		r.Setup.Day = r.Started.Format("2006-01-02")
	}
	r.Options, _ = withPowerOn(r.Options, preview, m.About())
	if r.Origin, err = s.keepFile(ctx, src, preview.Layout); err != nil {
		return Imported{}, err
	}
	if r.ID, err = s.freeRunID(ctx, r); err != nil {
		return Imported{}, err
	}
	out := Imported{Run: r, Layout: preview.Layout}
	out.Report, err = s.storeReadings(ctx, m, r, src, preview.Layout, progress)
	return out, err
}

// usable refuses a preview that lacks a column the measurement cannot do
// without.
func usable(name string, p *intake.Preview) error {
	if p.Problems != nil && p.Problems.Total > 0 {
		return p.Problems
	}
	if len(p.Lacking) > 0 {
		return &intake.Problem{File: filepath.Base(name), Found: fmt.Sprintf("no column that could be the %v", p.Lacking), Expected: "one",
			Advice: "say which it is, for example --column 2=frequency:kHz"}
	}
	return nil
}

// keepFile stores the file as given and says where it came from.
func (s *Shop) keepFile(ctx context.Context, src intake.Source, layout intake.Layout) (run.Origin, error) {
	f, err := src.Open()
	if err != nil {
		return run.Origin{}, err
	}
	defer f.Close()
	sum, size, err := s.Book.PutFile(ctx, f)
	if err != nil {
		return run.Origin{}, err
	}
	doc, err := json.Marshal(layout)
	return run.Origin{How: "file", Name: filepath.Base(src.Name), SHA256: sum, Size: size, Layout: string(doc)}, err
}

// storeReadings streams the readings into the book.
func (s *Shop) storeReadings(ctx context.Context, m measure.Measurement, r run.Run, src intake.Source, layout intake.Layout, progress func(done, total int64)) (*intake.Report, error) {
	w, err := s.Book.BeginRun(ctx, r)
	if err != nil {
		return nil, err
	}
	defer w.Abort()
	columns := columnsOf(layout)
	var held run.Series // the last batch waits for the resolutions, known at the end
	sink := func(b *intake.Batch) error {
		if held.Len() > 0 {
			if err := w.Append(held); err != nil {
				return err
			}
		}
		held = seriesOf(b, columns)
		return nil
	}
	report, err := intake.Read(ctx, src, layout, sink, progress)
	if err != nil {
		return report, err
	}
	if report.Backwards.Count > 0 {
		p := report.Backwards.First[0]
		return report, &p
	}
	if report.Rows < 2 {
		return report, &intake.Problem{File: filepath.Base(src.Name), Found: "one reading", Expected: "two at least", Advice: "a single number is a note, not a run"}
	}
	for i, c := range report.Columns {
		if col := held.Column(c.Role); col != nil {
			col.Resolution = report.Columns[i].Resolution
		}
	}
	if err := w.Append(held); err != nil {
		return report, err
	}
	if err := w.Finish(); err != nil {
		return report, err
	}
	return report, s.Book.AttachFile(ctx, r.ID, r.Origin.SHA256, r.Origin.Name)
}

// columnsOf lists the columns that a layout delivers, in order.
func columnsOf(layout intake.Layout) []intake.ColumnReport {
	var out []intake.ColumnReport
	for _, c := range layout.Columns {
		switch c.Role.Value {
		case "", intake.RoleTime, intake.RoleDate, intake.RoleIgnore:
		default:
			out = append(out, intake.ColumnReport{Number: c.Number, Role: c.Role.Value, BaseUnit: c.BaseUnit})
		}
	}
	return out
}

// freeRunID makes a run's id from its set and day: "turnstone-2024-02-03",
// with a number where that is taken.
func (s *Shop) freeRunID(ctx context.Context, r run.Run) (string, error) {
	state, err := s.Book.State(ctx, r.StateID)
	if err != nil {
		return "", err
	}
	day := r.Started
	if day.IsZero() {
		day = s.Clock()
	}
	return freeHandle(state.SetID+"-"+r.Measurement+"-"+day.Format("2006-01-02"), func(id string) bool {
		_, err := s.Book.Run(ctx, id)
		return err == nil
	}), nil
}

// RawFile opens the file of a run as it was given. A run without a file gives
// its readings as CSV.
func (s *Shop) RawFile(ctx context.Context, runID string) (io.ReadCloser, string, error) {
	r, err := s.Book.Run(ctx, runID)
	if err != nil {
		return nil, "", err
	}
	if r.Origin.SHA256 == "" {
		return nil, "", errors.New("this run was not imported from a file; its readings can be had as a table")
	}
	f, err := s.Book.OpenFile(ctx, r.Origin.SHA256)
	return f, r.Origin.Name, err
}

// CardEntry is a bench card filled in by hand and typed in: readings in the
// order of the card.
type CardEntry struct {
	NewRun
	Unit string // taken for bare frequencies
	Rows []CardRow
}

// CardRow is one line of the card: a time and what was read then. Rows whose
// readings are empty are skipped; a row struck through on paper is entered with
// Struck, and kept.
type CardRow struct {
	Time   string
	Values map[string]string // by column role
	Struck bool
}

// EnterCard stores a filled bench card as a run. An error names the row and
// what is wrong with it; nothing is stored then.
func (s *Shop) EnterCard(ctx context.Context, e CardEntry) (run.Run, error) {
	m, r, err := s.newRun(ctx, e.NewRun)
	if err != nil {
		return run.Run{}, err
	}
	series, struck, err := cardSeries(m.About(), e)
	if err != nil {
		return run.Run{}, err
	}
	r.Origin = run.Origin{How: "typed", Name: "bench card"}
	if r.Options["power_on"] == "" {
		r.Options["power_on"] = "0 s"
	}
	if r.ID, err = s.freeRunID(ctx, r); err != nil {
		return run.Run{}, err
	}
	if err := s.Book.AddRun(ctx, r, series); err != nil {
		return run.Run{}, err
	}
	for _, row := range struck {
		if _, err := s.Amend(ctx, run.Amendment{RunID: r.ID, Kind: run.AmendStrike, Row: row, Reason: "struck through on the card"}); err != nil {
			return r, err
		}
	}
	return r, nil
}
