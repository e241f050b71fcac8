package workshop

import (
	"context"
	"time"

	"setwright/internal/wire"
)

// serverStallsAfter is how long the sound server may give nothing.
const serverStallsAfter = 10 * time.Second

// ServerInput is an input of the computer's sound server.
type ServerInput struct{ ID, Name string }

// ServerInputs lists the inputs of the computer's sound server, those that hear
// what programs play last. The error says why it is not reached.
func (s *Shop) ServerInputs(ctx context.Context) ([]ServerInput, error) {
	devices, err := wire.Server{}.Devices(ctx)
	if err != nil {
		return nil, err
	}
	var inputs, monitors []ServerInput
	for _, d := range devices {
		if d.Monitor {
			monitors = append(monitors, ServerInput{d.ID, d.Name + " (what programs play)"})
			continue
		}
		inputs = append(inputs, ServerInput{d.ID, d.Name})
	}
	return append(inputs, monitors...), nil
}

// ListenToServer begins to record from an input of the computer's sound server
// and goes on beside, until it is stopped or the server fails.
func (s *Shop) ListenToServer(ctx context.Context, n NewListening, device string) (*Listening, error) {
	c, err := wire.Server{Device: device, StallAfter: serverStallsAfter}.Open(ctx, wire.Want{})
	if err != nil {
		return nil, err
	}
	n.Sound = c.Sound()
	l, err := s.StartListening(ctx, n)
	if err != nil {
		return nil, joinClose(err, c)
	}
	go func() {
		defer c.Close()
		err := l.Follow(context.Background(), c, 0)
		if why, _ := Ended(err, l.Elapsed(), 0); why != "" {
			_, _ = l.Cut(context.Background(), why) // where the user has stopped it already there is nothing to end
		}
	}()
	return l, nil
}

// joinClose closes a capture that is not used after all.
func joinClose(err error, c wire.SoundCapture) error {
	_ = c.Close()
	return err
}

// CheckListening says what is wrong with what a recording is meant for, before
// its sound is there.
func (s *Shop) CheckListening(ctx context.Context, n NewListening) error {
	n.Sound.Channels = max(n.Sound.Channels, n.Channel+1, 1)
	l := &Listening{shop: s, Started: s.Clock()}
	return l.meantFor(ctx, n)
}
