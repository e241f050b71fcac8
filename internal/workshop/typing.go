package workshop

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"strings"
	"time"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
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

// Typed is one reading as it was taken in.
type Typed struct {
	Row    int
	TimeS  float64 // since power-on
	Value  float64
	Unit   string
	Text   string
	Struck bool
}

// typedLayout says how bare numbers of a typed run are read.
type typedLayout struct {
	Unit string `json:"unit"`
}

// StartTyping opens a run whose readings are typed at the bench. unit is taken
// for bare numbers ("kHz"); times are stamped from power-on, which is
// NewRun.Started or now.
func (s *Shop) StartTyping(ctx context.Context, n NewRun, unit string) (run.Run, error) {
	m, r, err := s.newRun(ctx, n)
	if err != nil {
		return run.Run{}, err
	}
	column, err := typedColumn(m.About())
	if err != nil {
		return run.Run{}, err
	}
	if unit == "" {
		unit = column.Unit
	}
	if _, err := quantity.Convert(1, unit, column.Unit); err != nil {
		return run.Run{}, fmt.Errorf("unit of the readings: %w", err)
	}
	if r.Started.IsZero() {
		r.Started = s.Clock()
	}
	layout, err := json.Marshal(typedLayout{Unit: unit})
	if err != nil {
		return run.Run{}, err
	}
	r.Origin = run.Origin{How: "typed", Layout: string(layout)}
	r.Open = true
	if r.Options["power_on"] == "" {
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
	column, err := typedColumn(m.About())
	if err != nil {
		return Typed{}, err
	}
	var layout typedLayout
	if err := json.Unmarshal([]byte(r.Origin.Layout), &layout); err != nil {
		return Typed{}, fmt.Errorf("run %s: how its readings are typed cannot be read: %w", runID, err)
	}
	t := Typed{Text: strings.TrimSpace(text), Unit: column.Unit, TimeS: s.Clock().Sub(r.Started).Seconds()}
	resolution := 0.0
	if t.TimeS, t.Value, resolution, err = readTyped(t.Text, layout.Unit, column.Unit, t.TimeS); err != nil {
		return Typed{}, err
	}
	row := run.Series{Columns: []run.Column{
		{Role: "time", Unit: "s", Values: []float64{t.TimeS}},
		{Role: column.Role, Unit: column.Unit, Values: []float64{t.Value}, Text: []string{t.Text}, Resolution: resolution},
	}}
	if err := s.Book.AppendReadings(ctx, runID, row); err != nil {
		return Typed{}, err
	}
	n, err := s.Book.Readings(ctx, runID)
	t.Row = n - 1
	return t, err
}

// readTyped reads "7065.3", "7.0653 MHz" or "10 min: 7065.3".
func readTyped(text, unit, base string, now float64) (timeS, value, resolution float64, err error) {
	if text == "" {
		return 0, 0, 0, errors.New("nothing was typed: expected a reading, such as 7065.3")
	}
	timeS, reading := now, text
	if i := strings.LastIndex(text, ": "); i > 0 {
		if timeS, err = measure.ParseNumber(text[:i], "s"); err != nil {
			return 0, 0, 0, fmt.Errorf("time before the colon: %w", err)
		}
		reading = text[i+2:]
	}
	q, err := quantity.ParseAs(reading, unit)
	if err != nil {
		return 0, 0, 0, err
	}
	value, err = q.In(base)
	return timeS, value, q.Resolution, err
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
	for _, c := range series.Columns {
		if c.Role == "time" {
			continue
		}
		for i, v := range c.Values {
			t := Typed{Row: i, TimeS: times.Values[i], Value: v, Unit: c.Unit, Struck: !kept[i]}
			if c.Text != nil {
				t.Text = c.Text[i]
			}
			out = append(out, t)
		}
		break // readings are typed into one column
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

// typedColumn is the column that typed readings go to: the first that is not
// the time.
func typedColumn(a measure.About) (measure.ColumnSpec, error) {
	for _, c := range a.Columns {
		if c.Role != "time" {
			return c, nil
		}
	}
	return measure.ColumnSpec{}, fmt.Errorf("%s takes no typed readings", a.Title)
}
