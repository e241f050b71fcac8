package signal

import (
	"math"
	"math/cmplx"
)

// phaseWatch finds jumps of phase of the strongest line: the line is brought
// down to zero frequency, and a straight line is laid through the phases of
// phaseSide pieces before and after each. Frequency and level must be the same
// on both sides and steady: a keyed tone, speech, shift keying and a fade all
// fail that.
type phaseWatch struct {
	rate       float64
	piece      int
	fft        *realFFT
	frame      []float64
	window     []float64
	shaped     []float64
	spectrum   []complex128
	fill       int
	hz         float64    // 0: no strong line
	turn, step complex128 // phasor at the start of a piece, and from one to the next
	shape      []float64  // weight of the samples of a piece: keeps twice the line out
	downR      []float64  // the weights times the line's phasor turned back, from the start of a piece
	downI      []float64
	sum        complex128 // of the piece that is filling
	n          int
	base       []complex128 // the last pieces, oldest first
	turns      []float64    // of phase from each piece of base to the next
	sizes      []float64    // of the pieces of base
	pos        int64
	best       phaseCandidate
	gaps       []Gap
	// tell, where given, is told the size of the line in each piece, and −1
	// where the line is lost or another is followed.
	tell func(size float64)
}

const (
	phaseSide = 24
	// phaseLeast is the smallest jump that is named, radians; 10 ms of a tone of
	// 997 Hz lost is 0.19.
	phaseLeast = 0.08
	phaseSigma = 7
)

type phaseCandidate struct {
	frame int64
	fit   float64 // scatter of the phases about the lines: least where the jump is
	age   int
}

func (p *phaseWatch) init(rate float64) {
	p.rate = rate
	p.piece = max(8, int(math.Round(rate/375)))
	n := lineSize(rate, 4096.0/48000, 0)
	if n < 64 {
		n = 64
	}
	p.fft = newRealFFT(n)
	p.frame, p.window, p.shaped = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range p.window {
		p.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	p.turn = 1
	p.shape = make([]float64, p.piece)
	for i := range p.shape {
		p.shape[i] = 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(p.piece))
	}
	p.downR, p.downI = make([]float64, p.piece), make([]float64, p.piece)
}

func (p *phaseWatch) add(x []float64) {
	for len(x) > 0 {
		n := min(len(x), len(p.frame)-p.fill)
		copy(p.frame[p.fill:], x[:n])
		p.fill += n
		x = x[n:]
		if p.fill == len(p.frame) {
			p.look()
			p.mix(p.frame)
			p.fill = 0
		}
	}
}

// look finds the strongest line of the frame in hand.
func (p *phaseWatch) look() {
	for i, v := range p.frame {
		p.shaped[i] = v * p.window[i]
	}
	p.spectrum = p.fft.Coefficients(p.spectrum, p.shaped)
	sq := func(k int) float64 {
		return real(p.spectrum[k])*real(p.spectrum[k]) + imag(p.spectrum[k])*imag(p.spectrum[k])
	}
	df := p.rate / float64(len(p.frame))
	best, total := 0, 0.0
	for k := max(2, int(375/df)); k < len(p.spectrum)-2; k++ {
		s := sq(k)
		total += s
		if best == 0 || s > sq(best) {
			best = k
		}
	}
	if best == 0 || !(total > 0) || math.IsInf(total, 1) || sq(best-1)+sq(best)+sq(best+1) < 0.3*total {
		p.hz = 0
		p.forget()
		return
	}
	hz := (float64(best) + hannPeak(sq(best-1), sq(best), sq(best+1))) * df
	if p.hz == 0 || math.Abs(hz-p.hz) > 20 {
		p.follow(hz)
	}
}

// follow begins with another line.
func (p *phaseWatch) follow(hz float64) {
	p.hz, p.sum, p.n = hz, 0, 0
	p.best = phaseCandidate{}
	for i, w := range p.shape {
		s, c := math.Sincos(2 * math.Pi * hz * float64(i) / p.rate)
		p.downR[i], p.downI[i] = w*c, -w*s
	}
	p.step = cmplx.Rect(1, -2*math.Pi*hz*float64(p.piece)/p.rate)
	p.forget()
}

// forget drops the pieces of a line that is followed no longer.
func (p *phaseWatch) forget() {
	p.base, p.turns, p.sizes = p.base[:0], p.turns[:0], p.sizes[:0]
	p.say(-1)
}

func (p *phaseWatch) say(size float64) {
	if p.tell != nil {
		p.tell(size)
	}
}

// mix brings the line down and sums it over pieces.
func (p *phaseWatch) mix(x []float64) {
	if p.hz == 0 {
		p.pos += int64(len(x))
		return
	}
	for len(x) > 0 {
		k := min(len(x), p.piece-p.n)
		p.sum += complex(dotProduct(p.downR[p.n:p.n+k], x), dotProduct(p.downI[p.n:p.n+k], x))
		x, p.n, p.pos = x[k:], p.n+k, p.pos+int64(k)
		if p.n == p.piece {
			p.push(p.sum * p.turn)
			p.sum, p.n = 0, 0
			p.turn *= p.step
			p.turn /= complex(cmplx.Abs(p.turn), 0)
		}
	}
}

func (p *phaseWatch) push(a complex128) {
	size := cmplx.Abs(a)
	p.say(size)
	const most = 2*phaseSide + 1
	if len(p.base) == most {
		p.base = p.base[:copy(p.base, p.base[1:])]
		p.turns = p.turns[:copy(p.turns, p.turns[1:])]
		p.sizes = p.sizes[:copy(p.sizes, p.sizes[1:])]
	}
	if n := len(p.base); n > 0 {
		p.turns = append(p.turns, cmplx.Phase(a*cmplx.Conj(p.base[n-1])))
	}
	p.base, p.sizes = append(p.base, a), append(p.sizes, size)
	if p.best.age > 0 {
		if p.best.age++; p.best.age > phaseSide {
			if len(p.gaps) < gapsMost {
				p.gaps = append(p.gaps, Gap{Frame: p.best.frame, Frames: int64(p.piece), Why: "phase jump"})
			}
			p.best = phaseCandidate{}
		}
	}
	if len(p.base) == most {
		p.judge()
	}
}

// judge looks for a jump in the middle piece.
func (p *phaseWatch) judge() {
	if !p.level() {
		return
	}
	a, sa, ra := phaseLine(cmplx.Phase(p.base[0]), p.turns[:phaseSide-1])
	b, sb, rb := phaseLine(cmplx.Phase(p.base[phaseSide+1]), p.turns[phaseSide+1:])
	sigma := math.Sqrt((ra + rb) / 2)
	if sigma > 0.2 {
		return
	}
	// Straight lines through n phases: the slope has u² = 12σ²/n³, the end
	// extrapolated half a step further u² = 4σ²/n; twice each for a difference.
	n := float64(phaseSide)
	slopeU, jumpU := sigma*math.Sqrt(24/(n*n*n)), sigma*math.Sqrt(8/n)
	if math.Abs(sa-sb) > 4*slopeU+0.001 {
		return
	}
	atA := a + sa*(n/2+0.5)
	atB := b - sb*(n/2+0.5)
	jump := math.Remainder(atB-atA, 2*math.Pi)
	if math.Abs(jump) < math.Max(phaseLeast, phaseSigma*jumpU) {
		return
	}
	// A fade turns the phase smoothly, a jump does it between two pieces.
	across := math.Remainder(cmplx.Phase(p.base[phaseSide+1]*cmplx.Conj(p.base[phaseSide-1]))-(sa+sb), 2*math.Pi)
	if math.Abs(math.Remainder(across-jump, 2*math.Pi)) > math.Max(0.35*math.Abs(jump), 4*p.roughness()) {
		return
	}
	if p.best.age == 0 || sigma < p.best.fit {
		age := max(1, p.best.age)
		p.best = phaseCandidate{frame: p.pos - int64(p.piece)*(phaseSide+1), fit: sigma, age: age}
	}
}

// roughness is the scatter of single phases by their second differences (of which
// the variance is six times theirs), which a smooth turn does not raise.
func (p *phaseWatch) roughness() float64 {
	sum, n := 0.0, 0
	for i := 2; i < len(p.base); i++ {
		if i >= phaseSide && i <= phaseSide+2 {
			continue // the middle piece takes part
		}
		a, b := p.base[i-1]*cmplx.Conj(p.base[i-2]), p.base[i]*cmplx.Conj(p.base[i-1])
		d := cmplx.Phase(b * cmplx.Conj(a))
		sum += d * d
		n++
	}
	return math.Sqrt(sum / 6 / float64(n))
}

// level says that the line is there all along, the middle apart.
func (p *phaseWatch) level() bool {
	lo, hi, sum := math.Inf(1), 0.0, 0.0
	for i, s := range p.sizes {
		if i != phaseSide {
			lo, hi, sum = min(lo, s), max(hi, s), sum+s
		}
	}
	mean := sum / (2 * phaseSide)
	return mean > 0 && lo > 0.6*mean && hi < 1.6*mean
}

// phaseLine is the straight line through unwrapped phases, of which the first
// and the turns from each to the next are given: the value in the middle, the
// slope a step, the variance of what is left.
func phaseLine(phase float64, turns []float64) (middle, slope, variance float64) {
	n := float64(len(turns) + 1)
	t := -(n - 1) / 2
	sp, stp, spp := phase, t*phase, phase*phase
	for _, turn := range turns {
		phase += turn
		t++
		sp += phase
		stp += t * phase
		spp += phase * phase
	}
	slope = stp / (n * (n*n - 1) / 12)
	middle = sp / n
	return middle, slope, math.Max(0, spp-sp*sp/n-slope*stp) / (n - 2)
}
