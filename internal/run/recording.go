package run

import (
	"time"

	"setwright/signal"
)

// Recording is sampled sound that belongs to a run: a file in the book, what it
// is a recording of, and what is known of how it was made.
type Recording struct {
	Role     string            `json:"role"` // "beat", "audio", "noise": see the measurement's About.Recordings
	Name     string            `json:"name"` // file name as given
	SHA256   string            `json:"sha256,omitempty"`
	RateHz   float64           `json:"rate_hz"` // nominal
	Channels int               `json:"channels"`
	Frames   int64             `json:"frames"`
	Channel  int               `json:"channel"` // the one that is analysed, from 0; -1 for the mean of all
	Started  time.Time         `json:"started,omitzero"`
	Labels   map[string]string `json:"labels,omitempty"` // what was set while it was made: "input": "-73 dBm"
	Capture  *Capture          `json:"capture,omitempty"`
	Marks    []Mark            `json:"marks,omitempty"` // set by hand while it was made
	// Warnings say what a reader of the file found: a lost end, a bad checksum.
	Warnings []string `json:"warnings,omitempty"`
}

// Mark is a moment of a recording that somebody marked.
type Mark struct {
	Frame int64  `json:"frame"`
	Text  string `json:"text,omitempty"`
}

// Capture is the integrity record of a recording: by which path it came, what
// the path said of itself, and every place where it failed.
type Capture struct {
	Path       string       `json:"path"` // "page processor", "page worklet", "sound server", "standard input", "file"
	Device     string       `json:"device,omitempty"`
	DeviceRate float64      `json:"device_rate_hz,omitempty"` // as the device reports it
	PathRate   float64      `json:"path_rate_hz,omitempty"`   // as what delivers the samples reports it
	Echo       *bool        `json:"echo_cancelling,omitempty"`
	Noise      *bool        `json:"noise_suppression,omitempty"`
	Gain       *bool        `json:"automatic_gain,omitempty"` // nil: the path cannot tell
	Gaps       []signal.Gap `json:"gaps,omitempty"`
	Notes      []string     `json:"notes,omitempty"`
	Cut        bool         `json:"cut,omitempty"` // ended by a fault, not by the user
}

// Whole says that no gap is known.
func (c *Capture) Whole() bool { return c == nil || len(c.Gaps) == 0 }

// Sound is the calibration of an instrument that is a sound input. A number
// whose standard uncertainty is zero was not calibrated.
type Sound struct {
	Made    time.Time `json:"made"`
	Expires time.Time `json:"expires,omitzero"`
	// FullScaleV is the rms voltage of a sine that just reaches full scale.
	FullScaleV         float64 `json:"full_scale_v,omitempty"`
	FullScaleRelativeU float64 `json:"full_scale_relative_u,omitempty"`
	// RateError is the true sample rate over the nominal one, less 1.
	RateError  float64 `json:"rate_error,omitempty"`
	RateErrorU float64 `json:"rate_error_u,omitempty"`
	// FloorDensity is the input's own noise, full-scale² per hertz (full scale
	// is a peak of 1), and OwnDistortion its harmonics 2 to 10 over the
	// fundamental, both by loop-back; 0 where not measured.
	FloorDensity  float64 `json:"floor_density,omitempty"`
	OwnDistortion float64 `json:"own_distortion,omitempty"`
	From          string  `json:"from,omitempty"` // what it was calibrated against, in words
}

// Expired says whether the calibration was past its day at t.
func (s Sound) Expired(t time.Time) bool {
	return !s.Expires.IsZero() && t.After(s.Expires)
}

// ReadsSound is what an instrument reads that is a sound input.
const ReadsSound = "sound"

// SoundInput returns the first instrument of the set-up that is a sound input.
func (s Setup) SoundInput() (Instrument, bool) {
	for _, in := range s.Instruments {
		if in.Reads == ReadsSound {
			return in, true
		}
	}
	return Instrument{}, false
}
