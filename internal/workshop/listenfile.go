package workshop

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/recording"
	"setwright/signal"
)

// ListenToFile begins to record live sound into a file of its own, without a
// book. A file that is there already is refused. Of NewListening only Role,
// Labels, Channel and Sound are looked at; Stop returns no run.
func (s *Shop) ListenToFile(path string, n NewListening) (*Listening, error) {
	if n.Channel < signal.Mean || n.Channel >= n.Sound.Channels {
		return nil, fmt.Errorf("channel %d of a sound input that has %d", n.Channel+1, n.Sound.Channels)
	}
	l := &Listening{ID: path, shop: s, sound: n.Sound, Started: s.Clock()}
	format, note := formatOf(n.Sound)
	format.Started = l.Started
	l.rec = run.Recording{Role: cmp.Or(n.Role, "sound"), Name: filepath.Base(path), Channel: n.Channel, Labels: n.Labels, Started: l.Started,
		RateHz: format.RateHz, Channels: format.Channels}
	if note != "" {
		l.notes = append(l.notes, note)
	}
	sink, err := newFileSink(path, format, l)
	if err != nil {
		return nil, err
	}
	l.sink, l.meters = sink, newMeters(n.Sound, n.Channel, measure.Raw{RunID: path, Setup: n.Setup}.SoundScale(l.Started))
	return l, l.begin()
}

// fileSyncEvery is how often a file that is recorded into is made durable.
const fileSyncEvery = 400 * time.Millisecond

// fileSink is a recording that grows in a file of its own. What is appended is
// in the file at once, and on the disk within half a second.
type fileSink struct {
	path string
	l    *Listening

	format recording.Format

	file *os.File
	mu   sync.Mutex // of wav
	wav  *recording.Writer
	stop chan struct{}
	done chan struct{}
}

func newFileSink(path string, f recording.Format, l *Listening) (*fileSink, error) {
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("there is a file %s already; recordings are never written over, name another", path)
	}
	if err != nil {
		return nil, fmt.Errorf("the recording cannot be begun: %w", err)
	}
	s := &fileSink{path: path, l: l, format: f, file: file, stop: make(chan struct{}), done: make(chan struct{})}
	if s.wav, err = recording.NewWriter(file, f); err != nil {
		_ = file.Close()
		return nil, errors.Join(err, os.Remove(path))
	}
	go s.keepDurable()
	return s, nil
}

func (s *fileSink) keepDurable() {
	defer close(s.done)
	tick := time.NewTicker(fileSyncEvery)
	defer tick.Stop()
	for {
		select {
		case <-s.stop:
			return
		case <-tick.C:
			_ = s.file.Sync() // an error comes again with the last one
		}
	}
}

func (s *fileSink) Append(samples []float64) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.wav.Write(samples)
	if errors.Is(err, syscall.ENOSPC) {
		return fmt.Errorf("the disk that holds %s is full; what came until then is kept", s.path)
	}
	return err
}

func (s *fileSink) Note(run.Capture) error { return nil }
func (s *fileSink) Mark(run.Mark) error    { return nil }

func (s *fileSink) Bytes() int64 {
	info, err := os.Stat(s.path)
	if err != nil {
		return 0
	}
	return info.Size()
}

// end stops the syncing.
func (s *fileSink) end() {
	close(s.stop)
	<-s.done
}

func (s *fileSink) finish(_ context.Context, c run.Capture, why string) (Listened, error) {
	s.end()
	s.mu.Lock()
	defer s.mu.Unlock()
	rec := s.l.rec
	err := s.wav.Close()
	if err != nil { // a write failed half way
		s.wav, err = recording.TakeUp(s.file, s.format)
		if err == nil {
			err = s.wav.Close()
		}
	}
	if err = errors.Join(err, s.file.Sync(), s.file.Close()); err != nil {
		return Listened{}, fmt.Errorf("the recording %s could not be completed; what came is in it: %w", s.path, err)
	}
	rec.Frames, rec.Marks = s.wav.Frames(), s.l.marks
	if why != "" {
		c.Cut, c.Notes = true, append(c.Notes, why)
	}
	rec.Capture = &c
	return Listened{Recording: rec}, nil
}

func (s *fileSink) discard() error {
	s.end()
	return errors.Join(s.file.Close(), os.Remove(s.path))
}
