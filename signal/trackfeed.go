package signal

import (
	"errors"
	"io"
)

// feed reads a source in pieces that no gap breaks: those known before and
// runs of zeros, which some sound paths put in for what they lost.
type feed struct {
	src    Source
	gaps   []Gap
	found  []Gap
	frame  int64 // of the source, next to hand out
	chunk  []float64
	have   []float64 // read, not handed out
	end    bool
	zeroes int // frames of zeros that make a gap
	lostS  float64
	broken bool // a gap lies before the next frame
}

// leastZeroS is the shortest run of zeros that is taken for a gap.
const leastZeroS = 0.004

func newFeed(src Source, gaps []Gap) *feed {
	return &feed{src: src, gaps: sortGaps(gaps), chunk: make([]float64, 8192), zeroes: max(16, int(leastZeroS*src.Rate()))}
}

// fill reads until there is something to hand out, or the end.
func (f *feed) fill() error {
	for !f.end && len(f.have) < 2*f.zeroes {
		n := copy(f.chunk, f.have)
		if n == len(f.chunk) {
			f.chunk = append(f.chunk, make([]float64, len(f.chunk))...)
		}
		k, err := f.src.Read(f.chunk[n:])
		f.have = f.chunk[:n+k]
		if errors.Is(err, io.EOF) {
			f.end = true
		} else if err != nil {
			return err
		}
	}
	return nil
}

// next returns the next piece, up to most frames, and whether a gap lies
// before it. An empty piece is the end.
func (f *feed) next(most int) (piece []float64, broken bool, err error) {
	for {
		if err := f.fill(); err != nil {
			return nil, false, err
		}
		if len(f.have) == 0 {
			return nil, f.broken, nil
		}
		if f.skipKnown() || f.skipZeros() {
			continue
		}
		n := f.whole(min(most, len(f.have)))
		piece, broken = f.have[:n], f.broken
		f.have = f.have[n:]
		f.frame += int64(n)
		f.broken = false
		return piece, broken, nil
	}
}

// skipKnown drops what a known gap covers at the next frame.
func (f *feed) skipKnown() bool {
	if len(f.gaps) == 0 || f.gaps[0].Frame > f.frame {
		return false
	}
	g := f.gaps[0]
	drop := g.Frame + g.Frames - f.frame
	if drop > int64(len(f.have)) {
		f.drop(len(f.have))
		return true
	}
	f.drop(int(max(drop, 0)))
	f.lostS += g.LostS
	f.gaps = f.gaps[1:]
	return true
}

// skipZeros drops a run of zeros at the next frame that is long enough.
func (f *feed) skipZeros() bool {
	n := leadingZeros(f.have)
	if n < f.zeroes {
		return false
	}
	if k := len(f.found) - 1; k >= 0 && f.found[k].Frame+f.found[k].Frames == f.frame {
		f.found[k].Frames += int64(n)
	} else {
		f.found = append(f.found, Gap{Frame: f.frame, Frames: int64(n), Why: "zeros"})
	}
	f.drop(n)
	return true
}

func (f *feed) drop(n int) {
	f.have = f.have[n:]
	f.frame += int64(n)
	f.broken = true
}

func leadingZeros(x []float64) int {
	for i, v := range x {
		if v != 0 {
			return i
		}
	}
	return len(x)
}

// whole shortens a piece to where the next known gap or run of zeros begins.
// Every run that is long enough holds a multiple of its half length.
func (f *feed) whole(n int) int {
	if len(f.gaps) > 0 {
		n = int(min(int64(n), f.gaps[0].Frame-f.frame))
	}
	step := f.zeroes / 2
	for i := step; i < len(f.have) && i < n+f.zeroes; i += step {
		if f.have[i] != 0 {
			continue
		}
		a := i
		for a > 0 && f.have[a-1] == 0 {
			a--
		}
		if a >= n {
			break
		}
		if z := leadingZeros(f.have[a:]); a > 0 && (z >= f.zeroes || a+z == len(f.have) && !f.end) {
			return a
		}
	}
	// Zeros that reach the end of what is read may go on.
	return n
}
