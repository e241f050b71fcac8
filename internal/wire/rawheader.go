package wire

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"setwright/recording"
)

// headed is a stream that began with the header of a sound file.
type headed struct {
	*rawCapture
	bytes *chunkReader
	block []float64

	reading sync.Mutex // of file
	file    *recording.Reader
}

// withHeader believes the header in the place of what was said.
func (c *rawCapture) withHeader(ctx context.Context, w Want) (SoundCapture, error) {
	h := &headed{rawCapture: c, bytes: &chunkReader{capture: c, ctx: ctx}}
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
	h.reading.Lock()
	defer h.reading.Unlock()
	if h.end != nil {
		return Block{}, h.end
	}
	h.bytes.until(ctx)
	n, err := h.file.Read(h.block)
	if n > 0 {
		return Block{Samples: h.block[:n*h.sound.Channels], At: h.bytes.came()}, nil
	}
	if ctx.Err() != nil {
		err = ctx.Err() // the reader cannot be gone on with
	}
	h.end = h.ended(err)
	return Block{}, h.end
}

// Close ends the capture, and what reads ahead of it.
func (h *headed) Close() error {
	err := h.rawCapture.Close() // lets a Next that waits return
	h.reading.Lock()
	defer h.reading.Unlock()
	return errors.Join(err, h.file.Close())
}

// ended says how the stream ended.
func (h *headed) ended(err error) error {
	var fault *Fault
	switch {
	case errors.As(h.bytes.broke(), &fault):
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

// chunkReader gives the bytes of a capture to a reader of sound files, which
// may read ahead beside the program.
type chunkReader struct {
	capture *rawCapture
	rest    []byte
	over    bool

	mu    sync.Mutex
	ctx   context.Context
	at    time.Time // when the last bytes came
	fault error     // how the stream ended, where that was not its end
}

// until sets how long bytes are waited for.
func (r *chunkReader) until(ctx context.Context) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.ctx = ctx
}

// came is when the last bytes came.
func (r *chunkReader) came() time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.at
}

// broke is how the stream ended, nil where that was its end.
func (r *chunkReader) broke() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.fault
}

func (r *chunkReader) Read(p []byte) (int, error) {
	for len(r.rest) == 0 {
		if r.over {
			return 0, io.EOF
		}
		if err := r.more(); err != nil {
			return 0, err
		}
	}
	n := copy(p, r.rest)
	r.rest = r.rest[n:]
	return n, nil
}

// more waits for bytes; an error is that of the context.
func (r *chunkReader) more() error {
	r.mu.Lock()
	ctx := r.ctx
	r.mu.Unlock()
	got, err := r.capture.take(ctx)
	if err != nil && ctx.Err() != nil {
		return err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if err == nil {
		r.rest, r.at, err = got.data, got.at, got.err
	}
	if err != nil {
		r.over = true
		if err = r.capture.ending(err); !errors.Is(err, io.EOF) {
			r.fault = err
		}
	}
	return nil
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
