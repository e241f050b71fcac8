package workshop

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"

	"setwright/internal/intake"
	"setwright/internal/run"
	"setwright/internal/store"
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
// layout that the preview showed. Either all of it is stored or nothing; a file
// that changes meanwhile is refused. progress is called with bytes done and in
// all, and may be nil.
func (s *Shop) Import(ctx context.Context, n NewRun, src intake.Source, over intake.Override, progress func(done, total int64)) (Imported, error) {
	unchanged, err := src.Watch()
	if err != nil {
		return Imported{}, err
	}
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
	copied, err := s.takeIn(ctx, src)
	if err != nil {
		return Imported{}, err
	}
	defer copied.Discard()
	if err := unchanged(); err != nil {
		return Imported{}, err
	}
	if r.Origin, err = originOf(src, copied, preview.Layout); err != nil {
		return Imported{}, err
	}
	if r.ID, err = s.freeRunID(ctx, r); err != nil {
		return Imported{}, err
	}
	out := Imported{Run: r, Layout: preview.Layout}
	out.Report, err = s.storeReadings(ctx, r, copied, preview.Layout, progress)
	return out, err
}

// ImportAll is Import of several logs as one: all are stored, or none.
func (s *Shop) ImportAll(ctx context.Context, n NewRun, srcs []intake.Source, over intake.Override, progress func(file string, done, total int64)) ([]Imported, error) {
	var out []Imported
	each := func(ctx context.Context) error {
		for _, src := range srcs {
			got, err := s.Import(ctx, n, src, over, func(done, total int64) {
				if progress != nil {
					progress(src.Name, done, total)
				}
			})
			if err != nil {
				return err
			}
			out = append(out, got)
		}
		return nil
	}
	var err error
	if len(srcs) == 1 {
		err = each(ctx) // needs no turn to write until it has read the file
	} else {
		err = s.atOnce(ctx, fmt.Sprintf("importing %d files", len(srcs)), each)
	}
	if err != nil {
		return nil, err
	}
	return out, nil
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

// takeIn copies the file, so that what is read is what is kept.
func (s *Shop) takeIn(ctx context.Context, src intake.Source) (*store.Incoming, error) {
	f, err := src.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return s.Book.TakeIn(ctx, f)
}

// originOf says where a file came from and how it is read.
func originOf(src intake.Source, f *store.Incoming, layout intake.Layout) (run.Origin, error) {
	doc, err := json.Marshal(layout)
	return run.Origin{How: "file", Name: filepath.Base(src.Name), SHA256: f.SHA256, Size: f.Size, Layout: string(doc)}, err
}

// storeReadings streams the readings of a copied file into the book, and keeps
// the copy beside them.
func (s *Shop) storeReadings(ctx context.Context, r run.Run, copied *store.Incoming, layout intake.Layout, progress func(done, total int64)) (*intake.Report, error) {
	w, err := s.Book.BeginRun(ctx, r)
	if err != nil {
		return nil, err
	}
	defer w.Abort()
	w.Keep(copied, r.Origin.Name)
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
	src := intake.Source{Name: r.Origin.Name, Size: copied.Size, Open: func() (io.ReadCloser, error) { return copied.Open() }}
	report, err := intake.Read(ctx, src, layout, sink, progress)
	if err != nil {
		return report, err
	}
	if err := allowed(report, src.Name); err != nil {
		return report, err
	}
	for i, c := range report.Columns {
		if col := held.Column(c.Role); col != nil {
			col.Resolution = report.Columns[i].Resolution
		}
	}
	if err := w.Append(held); err != nil {
		return report, err
	}
	return report, w.Finish()
}

// allowed refuses what was read without fault but is no run: times that run
// backwards, a single reading.
func allowed(r *intake.Report, name string) error {
	if r.Backwards.Count > 0 {
		return &intake.Problems{List: r.Backwards.First, Total: r.Backwards.Count}
	}
	if r.Rows < 2 {
		return &intake.Problem{File: filepath.Base(name), Found: "one reading", Expected: "two at least", Advice: "a single number is a note, not a run"}
	}
	return nil
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

// RawFile opens the file of a run as it was given, under the name it came with:
// its log, or its only recording. A run that came without a file is an error;
// its readings can be had by [Shop.WriteReadings], one of several recordings by
// [Shop.RecordingFile].
func (s *Shop) RawFile(ctx context.Context, runID string) (io.ReadCloser, string, error) {
	r, err := s.Book.Run(ctx, runID)
	if err != nil {
		return nil, "", err
	}
	switch {
	case r.Origin.SHA256 == "" && len(r.Recordings) == 1:
		return s.RecordingFile(ctx, runID, 0)
	case r.Origin.SHA256 == "" && len(r.Recordings) > 1:
		return nil, "", fmt.Errorf("run %s has %d recordings: say which by its number", runID, len(r.Recordings))
	case r.Origin.SHA256 == "":
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
	if hasOption(m.About(), "power_on") && r.Options["power_on"] == "" {
		r.Options["power_on"] = "0 s"
	}
	if r.ID, err = s.freeRunID(ctx, r); err != nil {
		return run.Run{}, err
	}
	return r, s.atOnce(ctx, "storing a card", func(ctx context.Context) error {
		if err := s.Book.AddRun(ctx, r, series); err != nil {
			return err
		}
		for _, row := range struck {
			if _, err := s.Amend(ctx, run.Amendment{RunID: r.ID, Kind: run.AmendStrike, Row: row, Reason: "struck through on the card"}); err != nil {
				return err
			}
		}
		return nil
	})
}
