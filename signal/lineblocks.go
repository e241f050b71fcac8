package signal

import (
	"context"
	"fmt"
	"io"
	"math"
)

// lineBlocks cuts a mono source into blocks of equal length, half overlapped,
// none of which holds a sample of a gap. Memory is one block.
type lineBlocks struct {
	src  Source
	size int
	hop  int
	gaps []Gap // sorted
	next int64 // frame number of the next sample read
	buf  []float64
	fill int
	end  bool
	used int64
}

func newLineBlocks(src Source, size int, gaps []Gap) *lineBlocks {
	return &lineBlocks{src: src, size: size, hop: (size + 1) / 2, gaps: sortGaps(gaps), buf: make([]float64, size)}
}

// block returns the next block and its first frame; the slice is good until the
// next call. At the end it returns io.EOF.
func (b *lineBlocks) block(ctx context.Context) ([]float64, int64, error) {
	for {
		if err := ctx.Err(); err != nil {
			return nil, 0, err
		}
		if b.fill == b.size {
			copy(b.buf, b.buf[b.hop:])
			b.fill -= b.hop
		}
		if b.end {
			return nil, 0, io.EOF
		}
		if err := b.read(); err != nil {
			return nil, 0, err
		}
		if b.fill == b.size {
			if b.used < b.next {
				b.used = b.next
			}
			return b.buf, b.next - int64(b.size), nil
		}
	}
}

// read fills the block as far as the next gap or the end lets it.
func (b *lineBlocks) read() error {
	for b.fill < b.size {
		limit := b.size
		if len(b.gaps) > 0 {
			g := b.gaps[0]
			if g.Frame <= b.next {
				if err := b.drop(g.Frame + g.Frames); err != nil {
					return err
				}
				b.gaps = b.gaps[1:]
				continue
			}
			if until := g.Frame - b.next; until < int64(limit-b.fill) {
				limit = b.fill + int(until)
			}
		}
		n, err := b.src.Read(b.buf[b.fill:limit])
		b.fill += n
		b.next += int64(n)
		if err == io.EOF {
			b.end = true
			return nil
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// drop throws away what is in hand and reads past frame to.
func (b *lineBlocks) drop(to int64) error {
	b.fill = 0
	for b.next < to {
		n, err := b.src.Read(b.buf[:min(int64(b.size), to-b.next)])
		b.next += int64(n)
		if err == io.EOF {
			b.end = true
			return nil
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// lineSize is the block length in samples for about so many seconds, even and
// with small prime factors, which the transform needs to be fast.
func lineSize(rate, seconds float64, most int64) int {
	n := int64(math.Round(rate * seconds))
	if most > 0 && n > most {
		n = most
	}
	for n > 8 && !smoothEven(n) {
		n--
	}
	return int(n)
}

func smoothEven(n int64) bool {
	if n%2 != 0 {
		return false
	}
	for _, p := range []int64{2, 3, 5} {
		for n%p == 0 {
			n /= p
		}
	}
	return n == 1
}

// lineHead reads up to most samples from the start of a source, and gives them
// together with a source that begins with them again.
func lineHead(ctx context.Context, src Source, most int) ([]float64, Source, error) {
	if src.Channels() != 1 {
		return nil, nil, fmt.Errorf("signal: a source of one channel is needed, this has %d: choose one with Mono", src.Channels())
	}
	if !(src.Rate() > 0) || math.IsInf(src.Rate(), 0) {
		return nil, nil, fmt.Errorf("signal: a sample rate of %g Hz", src.Rate())
	}
	head := make([]float64, 0, most)
	for len(head) < most {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		n, err := src.Read(head[len(head):min(most, len(head)+65536)])
		head = head[:len(head)+n]
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, nil, err
		}
	}
	return head, &lineAgain{Source: src, rest: head}, nil
}

type lineAgain struct {
	Source
	rest []float64
}

func (a *lineAgain) Read(dst []float64) (int, error) {
	if len(a.rest) > 0 {
		n := copy(dst, a.rest)
		a.rest = a.rest[n:]
		return n, nil
	}
	return a.Source.Read(dst)
}

// lineLongest is the longest stretch of the first frames that no gap breaks.
func lineLongest(frames int64, gaps []Gap) (from, to int64) {
	for _, s := range Stretches(frames, gaps) {
		if s.To-s.From > to-from {
			from, to = s.From, s.To
		}
	}
	return from, to
}

// lineFinite says that every sample is a finite number.
func lineFinite(x []float64) bool {
	for _, v := range x {
		if v-v != 0 {
			return false
		}
	}
	return true
}
