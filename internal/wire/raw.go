package wire

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"setwright/recording"
)

// Raw is samples without a heading, as a recorder writes them to a pipe. A
// stream that begins with the header of a sound file is recognised, and its
// header is believed.
type Raw struct {
	From   io.Reader
	Coding Coding
	// StallAfter is how long no sample may come before the capture ends with a
	// fault; zero is ten seconds.
	StallAfter time.Duration
	// Clock tells the time; nil is the computer's.
	Clock func() time.Time
}

const (
	defaultStall = 10 * time.Second
	// rawRead is the size of one reading: 0.1 s of 48 kHz, 16 bit, two channels.
	rawRead = 19200
	// rawWaiting is how many readings may wait for a disk that is slow: at the
	// rate above, half a minute.
	rawWaiting = 300
	// rawHead is how much is looked at before the first sample is believed.
	rawHead = 8192
)

// Name is "standard input".
func (r Raw) Name() string { return "standard input" }

// Open waits for the beginning of the stream and looks whether it can be what
// was said. Want must say the rate and the channels, unless the stream does.
func (r Raw) Open(ctx context.Context, w Want) (SoundCapture, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	if r.StallAfter == 0 {
		r.StallAfter = defaultStall
	}
	if r.Clock == nil {
		r.Clock = time.Now
	}
	c := &rawCapture{raw: r, chunks: make(chan chunk, rawWaiting), ended: make(chan struct{})}
	go c.read()
	head, err := c.firstBytes(ctx)
	if err != nil {
		return nil, err
	}
	if len(head) > 0 && head[0] < 0x80 && recording.Sniff(head) { // the kinds that begin with letters
		return c.withHeader(ctx, w)
	}
	if err := c.sounds(head, w); err != nil {
		return nil, err
	}
	return c, nil
}

// chunk is some bytes and the moment they came.
type chunk struct {
	data []byte
	at   time.Time
	err  error
}

// rawCapture is an open stream of raw samples.
type rawCapture struct {
	raw    Raw
	sound  Sound
	chunks chan chunk
	ended  chan struct{}
	once   sync.Once

	first []chunk // looked at already
	rest  []byte  // of a frame that is not whole yet
	block []float64
	end   error

	mu    sync.Mutex
	notes []string
}

// read reads beside the program, so that a recorder is not held up and the time
// of each reading is true.
func (c *rawCapture) read() {
	defer close(c.chunks)
	for {
		buf := make([]byte, rawRead)
		n, err := c.raw.From.Read(buf)
		select {
		case c.chunks <- chunk{buf[:n], c.raw.Clock(), err}:
		case <-c.ended:
			return
		}
		if err != nil {
			return
		}
	}
}

// next waits for bytes.
func (c *rawCapture) next(ctx context.Context) (chunk, error) {
	timer := time.NewTimer(c.raw.StallAfter)
	defer timer.Stop()
	select {
	case got, ok := <-c.chunks:
		if !ok {
			return chunk{}, io.EOF
		}
		return got, nil
	case <-ctx.Done():
		return chunk{}, ctx.Err()
	case <-c.ended:
		return chunk{}, io.EOF
	case <-timer.C:
		return chunk{}, &Fault{Kind: Stalled, Text: fmt.Sprintf("no sample has come for %s, though the stream has not ended; look whether the recorder still runs", c.raw.StallAfter)}
	}
}

// firstBytes collects the beginning without losing it.
func (c *rawCapture) firstBytes(ctx context.Context) ([]byte, error) {
	var head []byte
	for len(head) < rawHead {
		got, err := c.next(ctx)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			_ = c.Close()
			return nil, err
		}
		head = append(head, got.data...)
		c.first = append(c.first, got)
		if got.err != nil {
			break
		}
	}
	if len(head) == 0 {
		return nil, &Fault{Kind: Died, Text: "the stream ended before the first sample came; look what the recorder says"}
	}
	return head, nil
}

// sounds settles what the samples are, or says why they cannot be that.
func (c *rawCapture) sounds(head []byte, w Want) error {
	c.sound = Sound{Path: "standard input", RateHz: w.RateHz, Channels: w.Channels, Coding: c.raw.Coding}
	if c.sound.Channels == 0 {
		c.sound.Channels = 1
	}
	if c.sound.Coding == (Coding{}) {
		c.sound.Coding = Coding{Bits: 16}
	}
	if !(w.RateHz > 0) {
		_ = c.Close()
		return &Fault{Kind: WrongFormat, Text: "raw samples do not say their sample rate; say it, for example --rate 48000"}
	}
	doubt, err := judgeHead(head, c.sound.Coding, c.sound.Channels)
	if err != nil {
		_ = c.Close()
		return err
	}
	c.note(doubt)
	return nil
}

func (c *rawCapture) Sound() Sound { return c.sound }

func (c *rawCapture) note(text string) {
	if text == "" {
		return
	}
	c.mu.Lock()
	c.notes = append(c.notes, text)
	c.mu.Unlock()
}

func (c *rawCapture) Notes() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([]string(nil), c.notes...)
}

// Next gives the whole frames of the next bytes.
func (c *rawCapture) Next(ctx context.Context) (Block, error) {
	for c.end == nil {
		got, err := c.take(ctx)
		if err != nil && ctx.Err() == nil {
			c.end = c.ending(err)
			break
		}
		if err != nil {
			return Block{}, err // can be called again
		}
		if got.err != nil {
			c.end = c.ending(got.err)
		}
		if b := c.frames(got); len(b.Samples) > 0 {
			return b, nil
		}
	}
	if len(c.rest) > 0 && errors.Is(c.end, io.EOF) {
		c.end = &Fault{Kind: HalfFrame, Text: fmt.Sprintf("the stream ended inside a frame: %d of its %d bytes came; the recorder was stopped short, or the format or the number of channels is not the one said", len(c.rest), c.frameBytes())}
	}
	return Block{}, c.end
}

// take gives what was looked at before, then what comes.
func (c *rawCapture) take(ctx context.Context) (chunk, error) {
	if len(c.first) > 0 {
		got := c.first[0]
		c.first = c.first[1:]
		return got, nil
	}
	return c.next(ctx)
}

// ending is an end in words.
func (c *rawCapture) ending(err error) error {
	var fault *Fault
	if errors.Is(err, io.EOF) || errors.As(err, &fault) {
		return err
	}
	return &Fault{Kind: Died, Text: "the stream broke off: " + err.Error(), Err: err}
}

func (c *rawCapture) frameBytes() int { return c.sound.Channels * c.sound.Coding.Bytes() }

// frames decodes whole frames and keeps the rest for later.
func (c *rawCapture) frames(got chunk) Block {
	data := got.data
	if len(c.rest) > 0 {
		data = append(c.rest, data...)
	}
	whole := len(data) - len(data)%c.frameBytes()
	c.block = c.sound.Coding.Decode(c.block[:0], data[:whole])
	c.rest = bytes.Clone(data[whole:])
	return Block{Samples: c.block, At: got.at}
}

// Close ends the capture. A reading that is under way is left to itself.
func (c *rawCapture) Close() error {
	c.once.Do(func() { close(c.ended) })
	return nil
}
