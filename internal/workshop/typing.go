package workshop

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"time"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// NewRun is what a user says when a run is entered, however its readings come.
type NewRun struct {
	State       string // a state, or a set or configuration whose latest state is meant
	Measurement string
	Title       string
	Options     map[string]string
	Setup       run.Setup
	Notes       string
	Started     time.Time // moment of power-on, zero if unknown
}

// Typed is one row of readings as it was taken in. Value is of its first
// column.
type Typed struct {
	Row    int
	TimeS  float64 // since power-on
	Value  float64
	Unit   string
	Text   string
	Struck bool
}

// typedLayout says how the rows of a typed run are read.
type typedLayout struct {
	Unit    string   `json:"unit"`              // of bare numbers in the first column
	Columns []string `json:"columns,omitempty"` // their roles; one only where it is absent
}

// StartTyping opens a run whose readings are typed at the bench. unit is taken
// for bare numbers of the first column ("kHz"); times are stamped from power-on,
// which is NewRun.Started or now.
func (s *Shop) StartTyping(ctx context.Context, n NewRun, unit string) (run.Run, error) {
	m, r, err := s.newRun(ctx, n)
	if err != nil {
		return run.Run{}, err
	}
	columns, err := typedColumns(m.About())
	if err != nil {
		return run.Run{}, err
	}
	if unit == "" {
		unit = columns[0].Unit
	}
	if _, err := baseOf(columns[0], unit); err != nil {
		return run.Run{}, fmt.Errorf("unit of the readings: %w", err)
	}
	if r.Started.IsZero() {
		r.Started = s.Clock()
	}
	layout := typedLayout{Unit: unit}
	for _, c := range columns {
		layout.Columns = append(layout.Columns, c.Role)
	}
	doc, err := json.Marshal(layout)
	if err != nil {
		return run.Run{}, err
	}
	r.Origin = run.Origin{How: "typed", Layout: string(doc)}
	r.Open = true
	if hasOption(m.About(), "power_on") && r.Options["power_on"] == "" {
		r.Options["power_on"] = "0 s"
	}
	if r.ID, err = s.freeRunID(ctx, r); err != nil {
		return run.Run{}, err
	}
	return r, s.Book.OpenRun(ctx, r)
}

// TypeReading takes one reading as typed. It is stored before the function
// returns. The time is now, unless the text begins with one: "10 min: 7065.3".
func (s *Shop) TypeReading(ctx context.Context, runID, text string) (Typed, error) {
	r, err := s.Book.Run(ctx, runID)
	if err != nil {
		return Typed{}, err
	}
	if !r.Open {
		return Typed{}, fmt.Errorf("run %s is finished; what was forgotten goes into its notes, or start another run", runID)
	}
	m, err := s.Registry.Get(r.Measurement)
	if err != nil {
		return Typed{}, err
	}
	columns, layout, err := typedIn(r, m.About())
	if err != nil {
		return Typed{}, err
	}
	earlier, err := s.Book.Series(ctx, runID)
	if err != nil {
		return Typed{}, err
	}
	row, t, err := readRow(text, columns, layout.Unit, earlier, s.Clock().Sub(r.Started).Seconds())
	if err != nil {
		return Typed{}, err
	}
	if err := s.Book.AppendReadings(ctx, runID, row); err != nil {
		return Typed{}, err
	}
	n, err := s.Book.Readings(ctx, runID)
	t.Row = n - 1
	return t, err
}

// StrikeLast strikes out the last reading that stands. The reading itself
// stays in the book; striking is an amendment.
func (s *Shop) StrikeLast(ctx context.Context, runID string) (Typed, error) {
	all, err := s.TypedReadings(ctx, runID)
	if err != nil {
		return Typed{}, err
	}
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Struck {
			continue
		}
		_, err := s.Amend(ctx, run.Amendment{RunID: runID, Kind: run.AmendStrike, Row: all[i].Row, Reason: "struck out at the bench"})
		all[i].Struck = true
		return all[i], err
	}
	return Typed{}, errors.New("there is no reading left to strike out")
}

// TypedReadings lists the readings of a typed run as they were taken, those
// struck out marked.
func (s *Shop) TypedReadings(ctx context.Context, runID string) ([]Typed, error) {
	series, err := s.Book.Series(ctx, runID)
	if err != nil {
		return nil, err
	}
	amendments, err := s.Book.Amendments(ctx, runID)
	if err != nil {
		return nil, err
	}
	kept := make(map[int]bool)
	for _, row := range run.Apply(series, nil, amendments).Rows {
		kept[row] = true
	}
	times := series.Column("time")
	if times == nil {
		return nil, nil
	}
	var out []Typed
	for i := range series.Len() {
		out = append(out, typedRow(series, i, times.Values[i], !kept[i]))
	}
	return out, nil
}

// FinishTyping closes a typed run: its readings are complete. It returns how
// many there are, those struck out counted. A run without any is put out of
// sight.
func (s *Shop) FinishTyping(ctx context.Context, runID string) (readings int, err error) {
	err = s.atOnce(ctx, "closing a run", func(ctx context.Context) error {
		if err := s.Book.CloseRun(ctx, runID); err != nil {
			return err
		}
		if readings, err = s.Book.Readings(ctx, runID); err != nil || readings > 0 {
			return err
		}
		return s.Book.HideRun(ctx, runID, "no reading was typed")
	})
	return readings, err
}

// newRun checks what was said about a run and makes its header.
func (s *Shop) newRun(ctx context.Context, n NewRun) (measure.Measurement, run.Run, error) {
	m, err := s.Registry.Get(n.Measurement)
	if err != nil {
		return nil, run.Run{}, err
	}
	target, err := s.Find(ctx, n.State)
	if err != nil {
		return nil, run.Run{}, err
	}
	if len(target.States) == 0 {
		return nil, run.Run{}, fmt.Errorf("%s has no state yet: add one first, so that the run belongs somewhere", target.Name)
	}
	options := maps.Clone(n.Options)
	if options == nil {
		options = map[string]string{}
	}
	maps.DeleteFunc(options, func(_, text string) bool { return text == "" })
	if err := s.checkOptions(n.Measurement, options); err != nil {
		return nil, run.Run{}, err
	}
	r := run.Run{
		StateID: target.States[len(target.States)-1].ID, Measurement: n.Measurement, Title: n.Title,
		Started: n.Started, Entered: s.Clock(), Options: options, Setup: n.Setup, Notes: n.Notes,
	}
	if r.Setup.Day == "" && !r.Started.IsZero() {
		r.Setup.Day = r.Started.Format("2006-01-02")
	}
	return m, r, nil
}
