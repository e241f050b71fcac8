package wire

import (
	"context"
	"fmt"
	"time"

	"setwright/internal/run"
)

// Want is what is asked of an input; what is zero is left to the input.
type Want struct {
	RateHz   float64
	Channels int
}

// What may be asked of an input.
const (
	mostRateHz   = 1e6
	mostChannels = 64
)

// check refuses what no input can give.
func (w Want) check() error {
	switch {
	case w.Channels < 0 || w.Channels > mostChannels:
		return &Fault{Kind: WrongFormat, Text: fmt.Sprintf("found %d channels, expected 1 to %d", w.Channels, mostChannels)}
	case !(w.RateHz >= 0 && w.RateHz <= mostRateHz):
		return &Fault{Kind: WrongFormat, Text: fmt.Sprintf("found a sample rate of %g Hz, expected up to %g Hz", w.RateHz, mostRateHz)}
	}
	return nil
}

// SoundInput is a way to live sound.
type SoundInput interface {
	// Name says in a few words what it is: "standard input".
	Name() string
	// Open starts a capture. The context is for the opening alone.
	Open(ctx context.Context, w Want) (SoundCapture, error)
}

// SoundCapture is live sound that is coming in.
type SoundCapture interface {
	// Sound says what comes; it does not change.
	Sound() Sound
	// Next waits for the next block. The end as it is meant to be is io.EOF;
	// an end that is not is a *[Fault]. A block that comes with a fault is to
	// be kept: it came before it.
	Next(ctx context.Context) (Block, error)
	// Notes are what the path has said of itself so far.
	Notes() []string
	// Close ends the capture; Next then returns.
	Close() error
}

// Sound is what an open path says of itself.
type Sound struct {
	Path       string // as in run.Capture: "standard input", "sound server"
	Device     string
	RateHz     float64 // of the frames delivered
	Channels   int
	Coding     Coding
	DeviceRate float64 // as the device reports it, 0 where the path cannot tell
	PathRate   float64 // as what delivers the samples reports it
	Echo       *bool   // echo cancelling; nil where the path cannot tell
	Noise      *bool   // noise suppression
	Gain       *bool   // automatic gain
}

// Capture is the beginning of the integrity record.
func (s Sound) Capture() run.Capture {
	return run.Capture{Path: s.Path, Device: s.Device, DeviceRate: s.DeviceRate, PathRate: s.PathRate,
		Echo: s.Echo, Noise: s.Noise, Gain: s.Gain}
}

// Block is some frames that came together.
type Block struct {
	// Samples are whole frames, channels interleaved. They are valid until the
	// next call of Next.
	Samples []float64
	// At is when the last of them came.
	At time.Time
	// StampS is the path's own clock at the first frame, in seconds from any
	// beginning, where Stamped says that there is one.
	StampS  float64
	Stamped bool
	// LostS is how many seconds the path says passed without samples before
	// the block, and Why the reason it gives.
	LostS float64
	Why   string
	// DoubtS is how many seconds from the first frame on may hold a loss that
	// the path cannot place or be sure of; Why then says what happened.
	DoubtS float64
}

// Fault is an end of a capture that nobody meant.
type Fault struct {
	Kind FaultKind
	Text string // a sentence for the person: what was found, what to do
	Err  error  // the cause, where there is one
}

// FaultKind is the kind of a fault.
type FaultKind int

// The kinds of fault.
const (
	Died        FaultKind = iota // what delivers the samples has gone
	Stalled                      // no samples come, yet nothing has ended
	HalfFrame                    // the end came inside a frame
	WrongFormat                  // what comes is not what was said
)

func (f *Fault) Error() string { return f.Text }

// Unwrap gives the cause.
func (f *Fault) Unwrap() error { return f.Err }
