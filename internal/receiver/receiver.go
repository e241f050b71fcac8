// Package receiver describes physical sets: what they are, how they are built
// at a given time, what was changed on them and what each change is said to do.
//
// Words (one meaning each): a set is one physical receiver; a configuration is
// how it is built, and can come back; a state is a configuration from a date
// on, with an alignment; a modification is a change to the original circuit,
// with claims that can be judged.
package receiver

import "time"

// Set is one physical receiver with a serial of its own.
type Set struct {
	ID       string  `json:"id"`   // short handle, unique in a book: "turnstone"
	Name     string  `json:"name"` // "Turnstone"
	Serial   string  `json:"serial,omitempty"`
	Kind     string  `json:"kind,omitempty"` // "single superhet, six bands"
	Origin   string  `json:"origin,omitempty"`
	AsFound  string  `json:"as_found,omitempty"`
	IFHz     float64 `json:"if_hz,omitempty"` // nominal intermediate frequency
	Bands    []Band  `json:"bands,omitempty"`
	Stages   []Stage `json:"stages,omitempty"`
	Cautions string  `json:"cautions,omitempty"`
	Invented bool    `json:"invented,omitempty"` // demo material
}

// Band is one tuning range of a set.
type Band struct {
	Name      string  `json:"name"`
	LowHz     float64 `json:"low_hz"`
	HighHz    float64 `json:"high_hz"`
	Injection string  `json:"injection,omitempty"` // "high" or "low", where known
}

// Stage is one valve stage: what it does and which valve sits there.
type Stage struct {
	Position string `json:"position"` // "V4"
	Duty     string `json:"duty"`     // "local oscillator"
	Valve    string `json:"valve"`    // "6J5"
}

// Configuration is how a set is built: which modifications are in, which parts
// were replaced. The same configuration can come back later as a new state.
type Configuration struct {
	ID            string   `json:"id"`
	SetID         string   `json:"set_id"`
	Name          string   `json:"name"`                    // "as found", "regulator in"
	Modifications []string `json:"modifications,omitempty"` // ids of the modifications that are in
	Parts         string   `json:"parts,omitempty"`         // parts replaced, in words
}

// State is a configuration from a date on, with an alignment. Any electrical
// change starts a new state; every run belongs to exactly one.
type State struct {
	ID              string    `json:"id"`
	ConfigurationID string    `json:"configuration_id"`
	SetID           string    `json:"set_id"`
	Name            string    `json:"name"`
	From            time.Time `json:"from"`
	Alignment       string    `json:"alignment,omitempty"`
	Notes           string    `json:"notes,omitempty"`
}

// Modification is a change to the original circuit.
type Modification struct {
	ID      string   `json:"id"`
	SetID   string   `json:"set_id"`
	Title   string   `json:"title"`
	LookFor string   `json:"look_for,omitempty"` // what gives it away
	ActsOn  []string `json:"acts_on,omitempty"`  // "local oscillator", "screen supply"
	Undo    string   `json:"undo,omitempty"`     // how it is undone
	Source  string   `json:"source,omitempty"`   // where it was found or described
	Claims  []Claim  `json:"claims,omitempty"`
}

// Direction in which a claim says a figure moves.
type Direction string

// The directions of a claim.
const (
	Smaller   Direction = "smaller"
	Larger    Direction = "larger"
	Unchanged Direction = "unchanged"
)

// Claim is a figure, a direction and an amount, with its source: "settling
// time shorter by a third".
type Claim struct {
	ID             string            `json:"id"`
	ModificationID string            `json:"modification_id"`
	Figure         string            `json:"figure"` // figure id, "settling_time"
	Conditions     map[string]string `json:"conditions,omitempty"`
	Direction      Direction         `json:"direction"`
	// Amount is the size of the change promised: a fraction of the value
	// before (Relative) or an absolute change in the figure's unit. Zero says
	// only a direction was promised.
	Amount   float64 `json:"amount,omitempty"`
	Relative bool    `json:"relative,omitempty"`
	Words    string  `json:"words"`            // as the source puts it
	Source   string  `json:"source,omitempty"` // who says so
}
