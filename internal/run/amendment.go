package run

import (
	"fmt"
	"math"
	"strconv"
	"time"
)

// The kinds of amendment.
const (
	AmendStrike  = "strike" // one row is left out; restoring is AmendRestore
	AmendRestore = "restore"
	AmendScale   = "scale"  // a unit put right: a column times a factor
	AmendOption  = "option" // an option of the run put right: its name in Role, the new text in Text
	AmendLabel   = "label"  // a label of a recording put right: its number in Row, its name in Role, the new text in Text
	AmendLeave   = "leave"  // one recording is left out; taking it back is AmendTake
	AmendTake    = "take"
	AmendNote    = "note" // a remark only
)

// Amendment is a later note on a run. It never touches the raw data.
type Amendment struct {
	ID     string    `json:"id"`
	RunID  string    `json:"run_id"`
	Made   time.Time `json:"made"`
	Kind   string    `json:"kind"`
	Row    int       `json:"row,omitempty"`    // 0-based, of a reading or of a recording
	Role   string    `json:"role,omitempty"`   // column for scale, name for option and label
	Factor float64   `json:"factor,omitempty"` // for scale
	Text   string    `json:"text,omitempty"`   // new text of an option or label
	Reason string    `json:"reason"`
}

// Check says what is wrong with an amendment of a run with n rows, or nil.
func (a Amendment) Check(s Series) error {
	switch a.Kind {
	case AmendStrike, AmendRestore:
		if a.Row < 0 || a.Row >= s.Len() {
			return fmt.Errorf("amendment of row %d: the run has rows 1 to %d", a.Row+1, s.Len())
		}
	case AmendScale:
		if s.Column(a.Role) == nil {
			return fmt.Errorf("amendment of column %q: the run has no such column", a.Role)
		}
		if a.Factor == 0 || math.IsNaN(a.Factor) || math.IsInf(a.Factor, 0) {
			return fmt.Errorf("amendment of column %q: factor %s, expected a finite number other than 0", a.Role, strconv.FormatFloat(a.Factor, 'g', -1, 64))
		}
	case AmendOption:
		if a.Role == "" {
			return fmt.Errorf("amendment of an option: its name is missing")
		}
	case AmendNote, AmendLabel, AmendLeave, AmendTake: // see CheckRecording
	default:
		return fmt.Errorf("amendment of kind %q: expected strike, restore, scale, option, label, leave, take or note", a.Kind)
	}
	if a.Reason == "" {
		return fmt.Errorf("amendment without a reason: say why, for the next reader")
	}
	return nil
}

// Amended is the raw series as analyses see it.
type Amended struct {
	Series  Series
	Rows    []int             // row of the raw series for each row here
	Options map[string]string // the run's options with amendments
	Notes   []string          // what was amended, in words
}

// Apply returns the series with the amendments applied in order. The raw
// series is not touched: columns are copied.
func Apply(raw Series, options map[string]string, amendments []Amendment) Amended {
	struck := make(map[int]bool)
	factor := make(map[string]float64)
	out := Amended{Options: make(map[string]string, len(options))}
	for k, v := range options {
		out.Options[k] = v
	}
	for _, a := range amendments {
		switch a.Kind {
		case AmendStrike:
			struck[a.Row] = true
		case AmendRestore:
			delete(struck, a.Row)
		case AmendScale:
			if factor[a.Role] == 0 {
				factor[a.Role] = 1
			}
			factor[a.Role] *= a.Factor
		case AmendOption:
			out.Options[a.Role] = a.Text
		}
		out.Notes = append(out.Notes, a.Words())
	}
	for i := 0; i < raw.Len(); i++ {
		if !struck[i] {
			out.Rows = append(out.Rows, i)
		}
	}
	for _, c := range raw.Columns {
		out.Series.Columns = append(out.Series.Columns, c.pick(out.Rows, factor[c.Role]))
	}
	return out
}

// pick returns the column's rows, scaled unless the factor is 0 (none given).
func (c Column) pick(rows []int, factor float64) Column {
	if factor == 0 {
		factor = 1
	}
	out := c
	out.Resolution *= math.Abs(factor)
	out.Values = make([]float64, len(rows))
	out.Text = nil
	for i, r := range rows {
		out.Values[i] = c.Values[r]
		if factor != 1 {
			out.Values[i] *= factor
		}
		if c.Text != nil {
			out.Text = append(out.Text, c.Text[r])
		}
	}
	return out
}

// Words says what the amendment did, for the notes of an analysis.
func (a Amendment) Words() string {
	switch a.Kind {
	case AmendStrike:
		return fmt.Sprintf("reading %d struck out: %s", a.Row+1, a.Reason)
	case AmendRestore:
		return fmt.Sprintf("reading %d restored: %s", a.Row+1, a.Reason)
	case AmendScale:
		return fmt.Sprintf("column %s multiplied by %s: %s", a.Role, strconv.FormatFloat(a.Factor, 'g', -1, 64), a.Reason)
	case AmendOption:
		return fmt.Sprintf("%s put right to %q: %s", a.Role, a.Text, a.Reason)
	}
	return a.recordingWords()
}
