// Package run holds what a sitting at the bench leaves behind: the run with its
// set-up and raw series, the amendments made later, and the figures computed
// from them. Raw data never change; analyses see raw data with amendments
// applied (see [Apply]).
package run

import "time"

// Run is one sitting of one measurement on one state.
type Run struct {
	ID          string            `json:"id"`
	StateID     string            `json:"state_id"`
	Measurement string            `json:"measurement"` // "drift"
	Title       string            `json:"title,omitempty"`
	Started     time.Time         `json:"started"`           // moment of the first reading or of power-on; zero if unknown
	Entered     time.Time         `json:"entered"`           // when it came into the book
	Options     map[string]string `json:"options,omitempty"` // the measurement's options as text
	Setup       Setup             `json:"setup"`
	Notes       string            `json:"notes,omitempty"`
	Origin      Origin            `json:"origin"`
	Open        bool              `json:"open,omitempty"` // readings are still being taken
	Recordings  []Recording       `json:"recordings,omitempty"`
}

// Origin says how the raw data came in. For an imported file the book keeps
// the file byte for byte under its hash, and the reading of it (which column
// is what) as Layout, so that the interpretation can be seen and repeated.
type Origin struct {
	How    string `json:"how"`              // "file", "typed", "wire", "simulated"
	Name   string `json:"name,omitempty"`   // file name as given
	SHA256 string `json:"sha256,omitempty"` // of the file as given
	Size   int64  `json:"size,omitempty"`
	Layout string `json:"layout,omitempty"` // JSON of the import layout
}

// Setup is what stood on the bench. The circumstances a run was made under
// (time off, ambient, line volts, dial setting, oscillator watched) are options
// of its measurement, marked there as conditions.
type Setup struct {
	Instruments []Instrument `json:"instruments,omitempty"`
	Day         string       `json:"day,omitempty"` // runs of one day can be paired
	Operator    string       `json:"operator,omitempty"`
}

// Instrument is one instrument as used in a run: which physical one it is, the
// epoch of its calibration, and how well it reads.
type Instrument struct {
	ID         string  `json:"id"` // "counter-1": one physical instrument
	Name       string  `json:"name"`
	Epoch      string  `json:"epoch,omitempty"`    // calibration epoch, "2024-03"
	Reads      string  `json:"reads"`              // column it reads: "frequency"
	Cell       string  `json:"cell,omitempty"`     // range or frequency cell in which its error is common
	Relative   float64 `json:"relative,omitempty"` // standard uncertainty as a fraction, common to all readings
	Absolute   float64 `json:"absolute,omitempty"` // standard uncertainty in the column's unit, common to all readings
	DoF        float64 `json:"dof,omitempty"`
	Resolution float64 `json:"resolution,omitempty"` // one step of the display, column's unit
	// Sound is the calibration of a sound input (Reads is [ReadsSound]), nil
	// where it has none.
	Sound *Sound `json:"sound,omitempty"`
}

// Column is one column of a series in base SI units; NaN stands for a missing
// cell. Text, where kept, is what was typed or sent, one entry a row.
type Column struct {
	Role   string    `json:"role"` // "time", "frequency", "ambient", "line_voltage", "ht_voltage"
	Unit   string    `json:"unit"` // base unit: "s", "Hz", "°C", "V"
	Values []float64 `json:"values,omitempty"`
	Text   []string  `json:"text,omitempty"`
	// Resolution is one step of the last digit given, in Unit; 0 if unknown.
	Resolution float64 `json:"resolution,omitempty"`
}

// Series is a table of readings: columns of equal length.
type Series struct {
	Columns []Column `json:"columns"`
}

// Column returns the column of a role, or nil.
func (s Series) Column(role string) *Column {
	for i := range s.Columns {
		if s.Columns[i].Role == role {
			return &s.Columns[i]
		}
	}
	return nil
}

// Len returns the number of rows.
func (s Series) Len() int {
	if len(s.Columns) == 0 {
		return 0
	}
	return len(s.Columns[0].Values)
}
