package workshop

import (
	"context"
	"errors"
	"fmt"
	"time"

	"setwright/internal/run"
	"setwright/internal/store"
)

// Listened is a recording that was made live and is in the book.
type Listened struct {
	Run       run.Run
	Recording run.Recording
}

// Stop ends a listening as the user means it, and stores the recording with its
// run. Where that fails, because the disk is full or another program writes,
// the recording is kept unfinished: see [Shop.UnfinishedListenings]. Where not
// one sample came there is nothing to store: [ErrNothingCame].
func (l *Listening) Stop(ctx context.Context) (Listened, error) { return l.end(ctx, "") }

// Cut ends a listening that a fault has ended: as Stop, with a mark and the
// reason. An empty reason is given one.
func (l *Listening) Cut(ctx context.Context, why string) (Listened, error) {
	if why == "" {
		why = "it was cut off"
	}
	return l.end(ctx, why)
}

// ErrNothingCame is the end of a listening to which not one sample came. Nothing
// is stored of it.
var ErrNothingCame = errors.New("not one sample came; nothing was stored")

func (l *Listening) end(ctx context.Context, why string) (Listened, error) {
	capture, err := l.close(why)
	if err != nil {
		return Listened{}, err
	}
	defer l.shop.forget(l)
	got, err := l.keep(ctx, capture, why)
	l.settled(got.Run.ID, err)
	return got, err
}

// keep stores what came, if anything did.
func (l *Listening) keep(ctx context.Context, capture run.Capture, why string) (Listened, error) {
	switch {
	case l.Elapsed() > 0:
		return l.sink.finish(ctx, capture, why)
	case why != "":
		return Listened{}, errors.Join(fmt.Errorf("%s: %w", why, ErrNothingCame), l.sink.discard())
	}
	return Listened{}, errors.Join(ErrNothingCame, l.sink.discard())
}

// settled tells the viewers what came of it: the run that it went to, or why it
// went to none.
func (l *Listening) settled(runID string, err error) {
	l.mu.Lock()
	l.ended, l.stored = true, err == nil && runID != ""
	if l.stored {
		l.run.ID = runID
	}
	if err != nil {
		l.fault = err
	}
	l.mu.Unlock()
	l.viewers.end(l)
}

// close takes no more blocks.
func (l *Listening) close(why string) (run.Capture, error) {
	l.mu.Lock()
	if l.over {
		l.mu.Unlock()
		return run.Capture{}, errors.New("this recording has ended already")
	}
	l.over, l.why = true, why
	l.meters.clock.End()
	capture := l.captureNow()
	l.mu.Unlock()
	return capture, nil
}

// freeIDFor is the run a recording goes to: the id of the one it was to make may
// have been taken meanwhile.
func (s *Shop) freeIDFor(ctx context.Context, n store.NewRecording) (string, error) {
	if n.Adds {
		return n.Run.ID, nil
	}
	_, err := s.Book.Run(ctx, n.Run.ID)
	if errors.Is(err, store.ErrNotFound) {
		return n.Run.ID, nil
	}
	if err != nil {
		return "", err
	}
	return s.freeListeningID(ctx, n.Run)
}

// Discard ends a listening and deletes what was recorded.
func (l *Listening) Discard() error {
	if _, err := l.close("given up"); err != nil {
		return err
	}
	defer l.shop.forget(l)
	err := l.sink.discard()
	l.settled("", err)
	return err
}

// UnfinishedListening is a recording whose program died before it was stored.
type UnfinishedListening struct {
	ID          string
	Run         run.Run // it was meant for
	Adds        bool    // that run was in the book already
	Recording   run.Recording
	Began, Last time.Time
	Seconds     float64
	Bytes       int64
	Living      bool // it is being made at this moment, here or in another program
}

// UnfinishedListenings are the recordings that wait to be recovered, and with
// living those that are being made as well.
func (s *Shop) UnfinishedListenings(ctx context.Context, living bool) ([]UnfinishedListening, error) {
	all, err := s.Book.UnfinishedRecordings(ctx)
	if err != nil {
		return nil, err
	}
	var out []UnfinishedListening
	for _, u := range all {
		if u.Living && !living {
			continue
		}
		rec := u.Heading.Recording
		rec.Frames, rec.Capture, rec.Marks = u.Frames, u.Capture, u.Marks
		out = append(out, UnfinishedListening{ID: u.ID, Run: u.Heading.Run, Adds: u.Heading.Adds, Recording: rec, Began: u.Began, Last: u.Last,
			Seconds: float64(u.Frames) / rec.RateHz, Bytes: u.Bytes, Living: u.Living})
	}
	return out, nil
}

// Recover stores an unfinished recording with the run it was meant for, marked
// as cut. One without a single frame is refused.
func (s *Shop) Recover(ctx context.Context, id string) (Listened, error) {
	w, err := s.Book.AdoptRecording(ctx, id)
	if err != nil {
		return Listened{}, err
	}
	if w.Frames() == 0 {
		w.Leave()
		return Listened{}, fmt.Errorf("recording %s: not one sample of it came to the disk; there is nothing to recover", id)
	}
	runID, err := s.freeIDFor(ctx, w.Heading())
	if err != nil {
		w.Leave()
		return Listened{}, err
	}
	r, rec, err := w.Finish(ctx, store.FinishRecording{RunID: runID, Cut: true, Why: store.ProgramEnded})
	return Listened{r, rec}, err
}

// DiscardUnfinished deletes an unfinished recording.
func (s *Shop) DiscardUnfinished(ctx context.Context, id string) error {
	w, err := s.Book.AdoptRecording(ctx, id)
	if err != nil {
		return err
	}
	return w.Abort()
}
