package wire

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"setwright/recording"
)

// headed is a stream that began with the header of a sound file.
type headed struct {
	*rawCapture
	file  *recording.Reader
	bytes *chunkReader
	block []float64
}

// withHeader believes the header in the place of what was said.
func (c *rawCapture) withHeader(w Want) (SoundCapture, error) {
	h := &headed{rawCapture: c, bytes: &chunkReader{capture: c, ctx: context.Background()}}
	file, err := recording.Stream("standard input", h.bytes)
	if err != nil {
		_ = c.Close()
		return nil, &Fault{Kind: WrongFormat, Text: "the stream begins like a sound file, and is none that can be read: " + err.Error(), Err: err}
	}
	h.file = file
	info := file.Info()
	h.sound = Sound{Path: "standard input", RateHz: info.RateHz, Channels: info.Channels, Coding: codingOf(info)}
	c.note(fmt.Sprintf("the stream began with a header: %.0f Hz, %s, %s; it was believed", info.RateHz, channelsOf(info.Channels), h.sound.Coding))
	if w.RateHz > 0 && w.RateHz != info.RateHz {
		c.note(fmt.Sprintf("said was a rate of %.0f Hz", w.RateHz))
	}
	if w.Channels > 0 && w.Channels != info.Channels {
		c.note("said was " + channelsOf(w.Channels))
	}
	h.block = make([]float64, 4800*info.Channels)
	return h, nil
}

// Next gives the next frames.
func (h *headed) Next(ctx context.Context) (Block, error) {
	if h.end != nil {
		return Block{}, h.end
	}
	h.bytes.ctx = ctx
	n, err := h.file.Read(h.block)
	if n > 0 {
		return Block{Samples: h.block[:n*h.sound.Channels], At: h.bytes.at}, nil
	}
	if ctx.Err() != nil {
		err = ctx.Err() // the reader cannot be gone on with
	}
	h.end = h.ended(err)
	return Block{}, h.end
}

// ended says how the stream ended.
func (h *headed) ended(err error) error {
	var fault *Fault
	switch {
	case errors.As(h.bytes.fault, &fault):
		return fault
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case errors.Is(err, io.EOF):
		for _, w := range h.file.Warnings() {
			h.note(w.String())
		}
		return io.EOF
	}
	return &Fault{Kind: WrongFormat, Text: "the stream cannot be read on: " + err.Error(), Err: err}
}

// chunkReader gives the bytes of a capture to a reader of sound files.
type chunkReader struct {
	capture *rawCapture
	ctx     context.Context
	rest    []byte
	at      time.Time // when the last bytes came
	fault   error     // how the stream ended, where that was not its end
	over    bool
}

func (r *chunkReader) Read(p []byte) (int, error) {
	for len(r.rest) == 0 {
		if r.over {
			return 0, io.EOF
		}
		got, err := r.capture.take(r.ctx)
		if err == nil {
			r.rest, r.at, err = got.data, got.at, got.err
		} else if r.ctx.Err() != nil {
			return 0, err
		}
		if err != nil {
			r.over = true
			if err = r.capture.ending(err); !errors.Is(err, io.EOF) {
				r.fault = err
			}
		}
	}
	n := copy(p, r.rest)
	r.rest = r.rest[n:]
	return n, nil
}

// codingOf is how a sound file writes its samples.
func codingOf(i recording.Info) Coding {
	c := Coding{Bits: i.Container, Float: i.Float}
	if i.Law != "" {
		c.Bits = 16 // what it stands for
	}
	return c
}

func channelsOf(n int) string {
	if n == 1 {
		return "1 channel"
	}
	return fmt.Sprintf("%d channels", n)
}
