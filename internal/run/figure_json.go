package run

import (
	"encoding/json"

	"setwright/quantity"
)

// figureJSON is a figure as it stands in JSON, in the book and in exports.
type figureJSON struct {
	ID string `json:"id"`
	quantity.OutcomeJSON
	Conditions map[string]string `json:"conditions,omitempty"`
	Method     string            `json:"method,omitempty"`
	Details    []Detail          `json:"details,omitempty"`
}

// MarshalJSON writes the figure with its sources, so that two figures read back
// still cancel what they share.
func (f Figure) MarshalJSON() ([]byte, error) {
	o, err := quantity.EncodeOutcome(f.Outcome, f.Unit)
	if err != nil {
		return nil, err
	}
	return json.Marshal(figureJSON{ID: f.ID, OutcomeJSON: o, Conditions: f.Conditions, Method: f.Method, Details: f.Details})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (f *Figure) UnmarshalJSON(data []byte) error {
	var j figureJSON
	if err := json.Unmarshal(data, &j); err != nil {
		return err
	}
	o, unit, err := j.OutcomeJSON.Outcome()
	if err != nil {
		return err
	}
	*f = Figure{ID: j.ID, Outcome: o, Unit: unit, Conditions: j.Conditions, Method: j.Method, Details: j.Details}
	return nil
}
