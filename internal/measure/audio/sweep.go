package audio

import (
	"context"
	"errors"
	"io"
	"math"
	"sort"

	"gonum.org/v1/gonum/dsp/fourier"

	"setwright/internal/measure"
	"setwright/signal"
)

// blockS is the length of the blocks in which a moving tone is followed.
const blockS = 0.1

// hearSweep follows a swept or stepped tone: in blocks of a tenth of a second
// the strongest line and the power round it, noise beside it taken off; then the
// median over blocks within a twelfth of an octave.
func (w *work) hearSweep(ctx context.Context, index int, rec measure.Recording, progress func(float64)) ([]point, error) {
	seen, err := w.look(ctx, rec, func(x float64) { progress(x / 2) })
	if err != nil {
		return nil, err
	}
	src, err := rec.Open(ctx)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	s := newSweeper(src.Rate(), w.set.bandHz)
	pos := int64(0)
	for _, st := range signal.Stretches(rec.Frames, seen.Gaps) {
		if err := s.stretch(ctx, src, st.From-pos, st.To-st.From); err != nil {
			return nil, err
		}
		pos = st.To
		progress((1 + float64(pos)/float64(max(rec.Frames, 1))) / 2)
	}
	points := s.points()
	if len(points) < 3 {
		return nil, errors.New("found no tone that moves and stands out of the noise, expected one that goes through the range")
	}
	w.stretch(index, rec, seen, "moving tone", "audio_low", "audio_high")
	return points, nil
}

// sweeper turns blocks into levels of a moving tone.
type sweeper struct {
	rate   float64
	n      int
	fft    *fourier.FFT
	x      []float64
	power  []float64
	coeff  []complex128
	window []float64
	first  int
	last   int
	found  []point // power in dB; u is not used
}

func newSweeper(rate float64, band [2]float64) *sweeper {
	n := int(blockS * rate)
	s := &sweeper{rate: rate, n: n, fft: fourier.NewFFT(n), x: make([]float64, n), power: make([]float64, n/2+1), coeff: make([]complex128, n/2+1), window: signal.Hann.Coefficients(n)}
	if band[1] == 0 {
		band = [2]float64{20, 0.45 * rate}
	}
	s.first, s.last = max(2, int(band[0]*blockS)), min(n/2-2, int(band[1]*blockS))
	return s
}

// stretch skips some frames and follows the tone over a number of them.
func (s *sweeper) stretch(ctx context.Context, src signal.Source, skip, frames int64) error {
	for skip > 0 {
		k, err := src.Read(s.x[:min(int64(s.n), skip)])
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		skip -= int64(k)
	}
	for frames >= int64(s.n) {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		for have := 0; have < s.n; {
			k, err := src.Read(s.x[have:])
			if err == io.EOF {
				return nil
			}
			if err != nil {
				return err
			}
			have += k
		}
		frames -= int64(s.n)
		s.block()
	}
	for frames > 0 {
		k, err := src.Read(s.x[:frames])
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		frames -= int64(k)
	}
	return nil
}

// block finds the strongest line and the power within 4 bins or a thirtieth of
// its frequency on both sides.
func (s *sweeper) block() {
	for i := range s.x {
		s.x[i] *= s.window[i]
	}
	s.fft.Coefficients(s.coeff, s.x)
	best := s.first
	for k := range s.power {
		s.power[k] = sq(real(s.coeff[k])) + sq(imag(s.coeff[k]))
		if k >= s.first && k <= s.last && s.power[k] > s.power[best] {
			best = k
		}
	}
	reach := max(4, best/30)
	lo, hi := max(1, best-reach), min(len(s.power)-1, best+reach)
	sum, moment := 0.0, 0.0
	for k := lo; k <= hi; k++ {
		sum += s.power[k]
		moment += s.power[k] * float64(k)
	}
	floor := s.beside(lo, hi)
	net := sum - floor*float64(hi-lo+1)
	// The highest of a thousand bins of noise stands some ten times over its mean.
	if net < 40*floor || net <= 0 || best <= s.first {
		return
	}
	s.found = append(s.found, point{hz: moment / sum / blockS, dB: 10 * math.Log10(net)})
}

// beside is the density of the noise on both sides of a range of bins.
func (s *sweeper) beside(lo, hi int) float64 {
	var d []float64
	width := hi - lo + 1
	for k := max(s.first, lo-width); k <= min(s.last, hi+width); k++ {
		if k < lo || k > hi {
			d = append(d, s.power[k])
		}
	}
	if len(d) == 0 {
		return 0
	}
	sort.Float64s(d)
	return d[len(d)/2] / math.Ln2 // the median of an exponential is ln 2 of its mean
}

// points is the median of what was found within each twelfth of an octave, with
// the scatter as uncertainty, 0.1 dB at least.
func (s *sweeper) points() []point {
	bins := map[int][]point{}
	for _, p := range s.found {
		k := int(math.Floor(12 * math.Log2(p.hz)))
		bins[k] = append(bins[k], p)
	}
	var out []point
	for _, b := range bins {
		sort.Slice(b, func(i, j int) bool { return b[i].dB < b[j].dB })
		m := b[len(b)/2]
		spread := 0.0
		for _, p := range b {
			spread += sq(p.dB - m.dB)
			m.hz += p.hz
		}
		m.hz = (m.hz - b[len(b)/2].hz) / float64(len(b))
		m.u = math.Hypot(depthU, math.Sqrt(spread)/float64(len(b)))
		out = append(out, m)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].hz < out[j].hz })
	return out
}
