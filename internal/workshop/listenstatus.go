package workshop

import (
	"math"
	"sync"
	"time"

	"setwright/internal/run"
)

// ListeningStatus is how a listening stands, for a live display. Its JSON has
// no numbers that JSON cannot write: levels end at −200 and at 999 dB.
type ListeningStatus struct {
	ID          string            `json:"id"`
	RunID       string            `json:"run_id"` // the run it is meant for
	Adds        bool              `json:"adds"`   // that run is in the book already
	Measurement string            `json:"measurement"`
	State       string            `json:"state"`
	Role        string            `json:"role"`
	Name        string            `json:"name"`
	Labels      map[string]string `json:"labels,omitempty"`
	Started     time.Time         `json:"started"`
	ElapsedS    float64           `json:"elapsed_s"` // by the frames
	Frames      int64             `json:"frames"`
	Bytes       int64             `json:"bytes"` // on disk

	Level    LiveLevel        `json:"level"`
	Tone     *LiveToneReading `json:"tone,omitempty"` // absent where none stands out
	Spectrum LiveSpectrumView `json:"spectrum"`

	Capture run.Capture `json:"capture"` // the integrity record so far
	LostS   float64     `json:"lost_s"`  // seconds lost in all, as far as known
	Marks   []run.Mark  `json:"marks,omitempty"`

	Warnings []string `json:"warnings,omitempty"` // of the calibration

	Fault  string `json:"fault,omitempty"` // why nothing more is taken, or why it could not be stored
	Over   bool   `json:"over"`            // it has ended; Why, where a fault ended it
	Why    string `json:"why,omitempty"`
	Stored bool   `json:"stored"` // it is in the book, with the run RunID
}

// LiveLevel is the level of the last moment.
type LiveLevel struct {
	RMSdBFS  float64 `json:"rms_dbfs"` // 0 is a sine that just reaches full scale
	PeakDBFS float64 `json:"peak_dbfs"`
	HoldDBFS float64 `json:"hold_dbfs"`
	Clipped  int64   `json:"clipped"` // samples at full scale, so far
	// RMSV is the level in volts and RMSVU its standard uncertainty; absent
	// where the sound input of the run's set-up is not calibrated in level.
	RMSV  float64 `json:"rms_v,omitempty"`
	RMSVU float64 `json:"rms_v_u,omitempty"`
}

// LiveSpectrumView is the spectrum of the last moment in bands of equal width
// on a logarithmic scale.
type LiveSpectrumView struct {
	FromHz float64   `json:"from_hz"` // lower edge of the first band
	ToHz   float64   `json:"to_hz"`   // upper edge of the last
	DB     []float64 `json:"db"`      // strongest density of each, dB of full-scale² per Hz
}

const (
	liveFromHz = 20.0
	liveBands  = 160
	faintestDB = -200.0
	loudestDB  = 999.0 // of floating-point samples that are no sound
)

// Status is how the listening stands.
func (l *Listening) Status() ListeningStatus {
	bytes := l.sink.Bytes()
	l.mu.Lock()
	defer l.mu.Unlock()
	m := &l.meters
	out := ListeningStatus{
		ID: l.ID, RunID: l.run.ID, Adds: l.adds, Measurement: l.about.ID, State: l.state,
		Role: l.rec.Role, Name: l.rec.Name, Labels: l.rec.Labels, Started: l.Started,
		ElapsedS: m.seconds(m.frames), Frames: m.frames, Bytes: bytes,
		Level: m.levelNow(), Tone: m.toneNow(), Warnings: m.scale.Warnings(), Spectrum: bandsOf(m.spectrum.Density(), m.rate),
		Capture: l.captureNow(), Marks: append([]run.Mark(nil), l.marks...), Over: l.ended, Why: l.why, Stored: l.stored,
	}
	for _, g := range out.Capture.Gaps {
		out.LostS += g.LostS
	}
	if l.fault != nil {
		out.Fault = l.fault.Error()
	}
	return out
}

// audible is a level that JSON can write.
func audible(db float64) float64 {
	if !(db > faintestDB) {
		return faintestDB
	}
	return min(db, loudestDB)
}

// bandsOf draws a one-sided density together; bin k is at k times half the rate
// over the last bin.
func bandsOf(density []float64, rate float64) LiveSpectrumView {
	v := LiveSpectrumView{FromHz: liveFromHz, ToHz: rate / 2}
	if len(density) < 2 || rate/2 <= liveFromHz {
		return v
	}
	df := rate / 2 / float64(len(density)-1)
	step := math.Pow(v.ToHz/v.FromHz, 1.0/liveBands)
	for i := range liveBands {
		low := v.FromHz * math.Pow(step, float64(i))
		from, to := int(math.Ceil(low/df)), int(math.Ceil(low*step/df))
		if to <= from { // narrower than a bin
			from = min(int(math.Round(low*math.Sqrt(step)/df)), len(density)-1)
			to = from + 1
		}
		most := 0.0
		for _, d := range density[from:min(to, len(density))] {
			most = max(most, d)
		}
		v.DB = append(v.DB, audible(10*math.Log10(most)))
	}
	return v
}

// viewEvery is how often viewers are told how a listening stands.
const viewEvery = 100 * time.Millisecond

// viewers watch a listening.
type viewers struct {
	mu   sync.Mutex
	seen map[chan ListeningStatus]bool
	over chan struct{}
	done chan struct{}
	last *ListeningStatus // after the end
}

// Subscribe returns a channel that tells ten times a second how the listening
// stands; a viewer that is slow misses some. The last status has Over set, then
// the channel is closed. Call stop when nobody looks any more.
func (l *Listening) Subscribe() (status <-chan ListeningStatus, stop func()) {
	v := &l.viewers
	c := make(chan ListeningStatus, 1)
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.last != nil {
		c <- *v.last
		close(c)
		return c, func() {}
	}
	v.seen[c] = true
	return c, func() {
		v.mu.Lock()
		defer v.mu.Unlock()
		if v.seen[c] {
			delete(v.seen, c)
			close(c)
		}
	}
}

func (v *viewers) start(l *Listening) {
	v.seen, v.over, v.done = map[chan ListeningStatus]bool{}, make(chan struct{}), make(chan struct{})
	go func() {
		defer close(v.done)
		tick := time.NewTicker(viewEvery)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				v.tell(l)
			case <-v.over:
				return
			}
		}
	}()
}

// tell tells all, where anybody looks.
func (v *viewers) tell(l *Listening) {
	v.mu.Lock()
	none := len(v.seen) == 0
	v.mu.Unlock()
	if none {
		return
	}
	s := l.Status()
	v.mu.Lock()
	defer v.mu.Unlock()
	for c := range v.seen {
		latest(c, s)
	}
}

// latest puts the newest status in the place of one that nobody took.
func latest(c chan ListeningStatus, s ListeningStatus) {
	select {
	case <-c:
	default:
	}
	c <- s
}

// end tells all the last status.
func (v *viewers) end(l *Listening) {
	close(v.over)
	<-v.done
	s := l.Status()
	v.mu.Lock()
	defer v.mu.Unlock()
	v.last = &s
	for c := range v.seen {
		latest(c, s)
		close(c)
	}
	v.seen = nil
}
