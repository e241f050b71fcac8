package workshop

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/store"
	"setwright/internal/wire"
	"setwright/recording"
	"setwright/signal"
)

// LiveSound says what comes in by a path, and what the path says of itself; see
// [wire.Sound].
type LiveSound = wire.Sound

// LiveBlock is a block of live samples; see [wire.Block].
type LiveBlock = wire.Block

// Float32 is the coding of what a browser delivers.
var Float32 = wire.Coding{Bits: 32, Float: true}

// NewListening is what a user says before live sound is recorded.
type NewListening struct {
	// NewRun describes the run that is made of it. Where Run names one that is
	// in the book the recording is added to that, and NewRun is not looked at.
	NewRun
	Run     string
	Role    string // the measurement's kind of recording; empty is its first
	Labels  map[string]string
	Name    string // of the file; empty: made from role and labels
	Channel int    // the one that is looked at, from 0, or [signal.Mean]
	Sound   LiveSound
}

// Listening is live sound that is being recorded into the book. Its methods may
// be called from several goroutines; the blocks come from one.
type Listening struct {
	ID      string
	Started time.Time

	shop  *Shop
	about measure.About
	run   run.Run
	state string // its name, for the person
	rec   run.Recording
	adds  bool // to a run that is in the book
	sink  soundSink
	sound LiveSound

	mu     sync.Mutex
	meters meters
	marks  []run.Mark
	notes  []string // of the path
	noted  int64    // frames at which the integrity record was last kept
	fault  error    // why no more can be taken
	over   bool
	why    string // it ended, where a fault ended it
	ended  bool   // what came of it is settled
	stored bool   // it is in the book, with its run

	viewers viewers
}

// soundSink is where the samples go.
type soundSink interface {
	Append(samples []float64) error
	Note(c run.Capture) error
	Mark(m run.Mark) error
	Bytes() int64
	// finish stores what was recorded; why says which fault ended it.
	finish(ctx context.Context, c run.Capture, why string) (Listened, error)
	discard() error
}

// bookSink is a recording that grows in the book.
type bookSink struct {
	*store.RecordingWriter
	shop *Shop
}

func (b bookSink) finish(ctx context.Context, c run.Capture, why string) (Listened, error) {
	runID, err := b.shop.freeIDFor(ctx, b.Heading())
	if err != nil {
		b.Leave()
		return Listened{}, err
	}
	r, rec, err := b.Finish(ctx, store.FinishRecording{RunID: runID, Capture: &c, Cut: why != "", Why: why})
	return Listened{r, rec}, err
}

func (b bookSink) discard() error { return b.Abort() }

// listenings are the open ones of a workshop.
type listenings struct {
	mu   sync.Mutex
	open []*Listening
}

// StartListening begins to record live sound for a measurement. What it is
// meant for is checked at once. Feed it, then Stop it; where the path fails Cut
// it. What was fed is in the book's folder when Feed returns, and survives the
// program.
func (s *Shop) StartListening(ctx context.Context, n NewListening) (*Listening, error) {
	l := &Listening{shop: s, sound: n.Sound, Started: s.Clock()}
	if err := l.meantFor(ctx, n); err != nil {
		return nil, err
	}
	format, note := formatOf(n.Sound)
	format.Started = l.Started
	l.rec.Started = l.Started
	if note != "" {
		l.notes = append(l.notes, note)
	}
	w, err := s.Book.BeginRecording(ctx, store.NewRecording{Run: l.run, Adds: l.adds, Recording: l.rec, Format: format})
	if err != nil {
		return nil, err
	}
	l.ID, l.sink, l.rec = w.ID(), bookSink{w, s}, w.Heading().Recording
	l.meters = newMeters(n.Sound, n.Channel, measure.Raw{RunID: l.run.ID, Setup: l.run.Setup}.SoundScale(l.Started))
	return l, l.begin()
}

// begin makes the listening known.
func (l *Listening) begin() error {
	if err := l.sink.Note(l.capture()); err != nil {
		return errors.Join(err, l.sink.discard())
	}
	l.viewers.start(l) // before anybody can find it and look
	s := l.shop
	s.listening.mu.Lock()
	s.listening.open = append(s.listening.open, l)
	s.listening.mu.Unlock()
	return nil
}

// meantFor settles which run and which recording of it.
func (l *Listening) meantFor(ctx context.Context, n NewListening) error {
	s := l.shop
	var m measure.Measurement
	var err error
	if n.Run != "" {
		if l.run, err = s.Book.Run(ctx, n.Run); err != nil {
			return err
		}
		l.adds = true
		m, err = s.Registry.Get(l.run.Measurement)
	} else {
		m, l.run, err = s.newRun(ctx, n.NewRun)
	}
	if err != nil {
		return err
	}
	l.about = m.About()
	spec, err := soundRole(l.about, n.Role)
	if err != nil {
		return err
	}
	if err := checkLabels(spec, "label", n.Labels); err != nil {
		return err
	}
	if n.Channel < signal.Mean || n.Channel >= n.Sound.Channels {
		return fmt.Errorf("channel %d of a sound input that has %d", n.Channel+1, n.Sound.Channels)
	}
	l.rec = run.Recording{Role: spec.Role, Name: cmp.Or(n.Name, soundName(spec, n.Labels)), Channel: n.Channel, Labels: n.Labels}
	if st, err := s.Book.State(ctx, l.run.StateID); err == nil {
		l.state = st.Name
	}
	if l.adds {
		return nil
	}
	if l.run.Started.IsZero() {
		l.run.Started = l.Started
	}
	if l.run.Setup.Day == "" {
		l.run.Setup.Day = l.run.Started.Format("2006-01-02")
	}
	l.run.Origin = run.Origin{How: "wire", Name: n.Sound.Path}
	l.run.ID, err = s.freeListeningID(ctx, l.run)
	return err
}

// soundRole finds the kind of recording that live sound is for.
func soundRole(about measure.About, role string) (measure.RecordingSpec, error) {
	spec, ok := about.RecordingOf(role)
	switch {
	case ok:
		return spec, nil
	case len(about.Recordings) == 0:
		return spec, &measure.OptionError{Name: "measurement", Title: "measurement", Text: fmt.Sprintf("%s takes no recordings", about.Title)}
	}
	return spec, &measure.OptionError{Name: "role", Title: "role", Text: fmt.Sprintf("found %q, expected what the recording is of: %s", role, strings.Join(about.RecordingRoles(), ", "))}
}

// soundName is the name of a recording's file: "audio -73 dBm.wav".
func soundName(spec measure.RecordingSpec, labels map[string]string) string {
	parts := []string{spec.Role}
	for _, o := range spec.Labels {
		if text := labels[o.Name]; text != "" {
			parts = append(parts, text)
		}
	}
	clean := strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '_'
		}
		return r
	}, strings.Join(parts, " "))
	return clean + ".wav"
}

// freeListeningID is freeRunID that also minds the runs that recordings not yet
// finished are meant for.
func (s *Shop) freeListeningID(ctx context.Context, r run.Run) (string, error) {
	open, err := s.Book.UnfinishedRecordings(ctx)
	if err != nil {
		return "", err
	}
	base, err := s.freeRunID(ctx, r)
	if err != nil {
		return "", err
	}
	return freeHandle(base, func(id string) bool {
		if slices.ContainsFunc(open, func(u store.UnfinishedRecording) bool { return u.Heading.Run.ID == id }) {
			return true
		}
		_, err := s.Book.Run(ctx, id)
		return err == nil
	}), nil
}

// formatOf is how the samples of a path are kept: so that none is altered,
// where that can be.
func formatOf(s LiveSound) (f recording.Format, note string) {
	f = recording.Format{RateHz: s.RateHz, Channels: s.Channels, Bits: s.Coding.Bits, Float: s.Coding.Float}
	switch {
	case f.Float && f.Bits == 64:
		f.Bits, note = 32, "the 64-bit samples are kept with the 24 bits of 32-bit floating point"
	case f.Bits == 8:
		f.Bits = 16 // in which 8 bits are exact
	case f.Bits == 0:
		f.Bits, f.Float = 32, true
	}
	return f, note
}

// Listenings are those that are open in this program, the oldest first.
func (s *Shop) Listenings() []*Listening {
	s.listening.mu.Lock()
	defer s.listening.mu.Unlock()
	return slices.Clone(s.listening.open)
}

// Listening is one of those, or an error.
func (s *Shop) Listening(id string) (*Listening, error) {
	for _, l := range s.Listenings() {
		if l.ID == id {
			return l, nil
		}
	}
	return nil, fmt.Errorf("no recording %q is being made here", id)
}

func (s *Shop) forget(l *Listening) {
	s.listening.mu.Lock()
	defer s.listening.mu.Unlock()
	s.listening.open = slices.DeleteFunc(s.listening.open, func(o *Listening) bool { return o == l })
}
