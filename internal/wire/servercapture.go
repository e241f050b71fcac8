package wire

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jfreymuth/pulse/proto"
)

// serverBlockS is the length of the blocks that are asked for.
const serverBlockS = 0.05

// serverWaitingS is how much may wait for a disk that is slow.
const serverWaitingS = 30.0

// serverPing is how often the server is asked whether it lives.
const serverPing = time.Second

// serverCapture is an open capture of the sound server.
type serverCapture struct {
	server Server
	link   *link
	stream uint32
	sound  Sound
	rate   float64

	deliveries chan delivery
	ended      chan struct{}
	gone       chan struct{} // the server has gone; why in goneWhy
	once       sync.Once
	onceGone   sync.Once
	block      []float64
	rest       []byte
	end        error

	mu      sync.Mutex
	goneWhy *Fault
	notes   []string
	dropped float64 // seconds that found no room

	held atomic.Int64 // tests: nanoseconds for which the next packet is held up
}

// delivery is a packet of samples.
type delivery struct {
	data  []byte
	at    time.Time
	lostS float64
}

// Open starts a capture at the device's own rate, format and channels, so that
// nothing is converted on the way, unless others are wanted.
func (s Server) Open(ctx context.Context, w Want) (SoundCapture, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	if s.StallAfter == 0 {
		s.StallAfter = defaultStall
	}
	l, err := s.connect(ctx)
	if err != nil {
		return nil, err
	}
	list, standard, err := l.sources()
	if err != nil {
		l.close()
		return nil, err
	}
	src, err := s.choose(list, standard)
	if err != nil {
		l.close()
		return nil, err
	}
	c := &serverCapture{server: s, link: l, ended: make(chan struct{}), gone: make(chan struct{}), stream: proto.Undefined}
	if err := c.begin(src, w); err != nil {
		l.close()
		return nil, err
	}
	go c.watch()
	return c, nil
}

// called takes what the server says. It must not wait for anything.
func (c *serverCapture) called(message any) {
	switch m := message.(type) {
	case *proto.DataPacket:
		c.deliver(m.Data)
	case *proto.RecordStreamSuspended:
		c.note(map[bool]string{true: "the sound server suspended the input", false: "the sound server took the input up again"}[m.Suspended])
	case *proto.RecordStreamMoved:
		c.note("the sound server moved the recording to another input: " + m.DestName)
	case *proto.RecordStreamKilled:
		c.lose(&Fault{Kind: Died, Text: "the sound server ended the recording: the input was unplugged, or somebody stopped it"})
	case *proto.ConnectionClosed:
		c.lose(&Fault{Kind: Died, Text: "the sound server has gone"})
	}
}

// deliver keeps a packet until it is asked for. There is room for half a
// minute; what finds none is lost, and counted.
func (c *serverCapture) deliver(data []byte) {
	time.Sleep(time.Duration(c.held.Swap(0)))
	d := delivery{data: append([]byte(nil), data...), at: time.Now()}
	c.mu.Lock()
	d.lostS, c.dropped = c.dropped, 0
	c.mu.Unlock()
	select {
	case c.deliveries <- d:
	case <-c.ended:
	default:
		c.mu.Lock()
		c.dropped = d.lostS + float64(len(data)/c.frameBytes())/c.rate
		c.mu.Unlock()
	}
}

// lose notes that nothing more will come.
func (c *serverCapture) lose(why *Fault) {
	c.onceGone.Do(func() {
		c.mu.Lock()
		c.goneWhy = why
		c.mu.Unlock()
		close(c.gone)
	})
}

// watch asks the server now and then: one that was killed does not say so.
func (c *serverCapture) watch() {
	tick := time.NewTicker(serverPing)
	defer tick.Stop()
	for {
		select {
		case <-c.ended:
			return
		case <-c.gone:
			return
		case <-tick.C:
		}
		err := c.link.client.Request(&proto.GetRecordLatency{StreamIndex: c.stream}, &proto.GetRecordLatencyReply{})
		if err != nil && !errors.Is(err, context.DeadlineExceeded) { // a slow one is told by its samples
			c.lose(&Fault{Kind: Died, Err: err, Text: "the sound server has gone (" + err.Error() + ")"})
		}
	}
}

func (c *serverCapture) frameBytes() int {
	return max(1, c.sound.Coding.Bytes()*c.sound.Channels)
}

func (c *serverCapture) note(text string) {
	c.mu.Lock()
	c.notes = append(c.notes, text)
	c.mu.Unlock()
}

func (c *serverCapture) Sound() Sound { return c.sound }

func (c *serverCapture) Notes() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([]string(nil), c.notes...)
}

// Next gives the frames of the next packet. What came before the server went
// is given before its going is told.
func (c *serverCapture) Next(ctx context.Context) (Block, error) {
	for c.end == nil {
		d, err := c.wait(ctx)
		if err != nil {
			if ctx.Err() == nil {
				c.end = err
			}
			return Block{}, err
		}
		if b := c.frames(d); len(b.Samples) > 0 {
			return b, nil
		}
	}
	return Block{}, c.end
}

func (c *serverCapture) wait(ctx context.Context) (delivery, error) {
	select {
	case d := <-c.deliveries:
		return d, nil
	default:
	}
	timer := time.NewTimer(c.server.StallAfter)
	defer timer.Stop()
	select {
	case d := <-c.deliveries:
		return d, nil
	case <-ctx.Done():
		return delivery{}, ctx.Err()
	case <-c.ended:
		return delivery{}, io.EOF
	case <-c.gone:
		return c.leftOver()
	case <-timer.C:
		return delivery{}, &Fault{Kind: Stalled, Text: fmt.Sprintf("no sample has come from the sound server for %s, though it answers; look whether the input is suspended or unplugged", c.server.StallAfter)}
	}
}

// leftOver is what came before the server went, then why it went.
func (c *serverCapture) leftOver() (delivery, error) {
	select {
	case d := <-c.deliveries:
		return d, nil
	default:
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return delivery{}, c.goneWhy
}

// frames decodes whole frames and keeps the rest for later.
func (c *serverCapture) frames(d delivery) Block {
	data := d.data
	if len(c.rest) > 0 {
		data = append(c.rest, data...)
	}
	whole := len(data) - len(data)%c.frameBytes()
	c.block = c.sound.Coding.Decode(c.block[:0], data[:whole])
	c.rest = append([]byte(nil), data[whole:]...)
	b := Block{Samples: c.block, At: d.at, LostS: d.lostS}
	if d.lostS > 0 {
		b.Why = "this program was too slow"
	}
	return b
}

// Close ends the capture.
func (c *serverCapture) Close() error {
	c.once.Do(func() {
		close(c.ended)
		select {
		case <-c.gone:
		default:
			_ = c.link.client.Request(&proto.DeleteRecordStream{StreamIndex: c.stream}, nil)
		}
		c.link.close()
	})
	return nil
}
