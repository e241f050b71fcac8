package signal

import "math"

// zeroRun is the shortest run of exact zeros that is looked at, samples.
const zeroRun = 64

// zeroWatch finds runs of exact zeros. A run that cuts the wave off where it
// stands was put in; one that the wave fades into is silence.
type zeroWatch struct {
	long, short, most int64 // look-back and look-ahead, edge, longest fault, in samples
	past              peakWindow
	pos               int64
	run               int64
	start             int64
	before            edge
	pending           *zeroEvent
	gaps, silences    []Gap
}

// edge is the greatest size of the wave next to a run, and over a longer time.
type edge struct{ near, far float64 }

// cuts says that the wave does not fade towards the run.
func (e edge) cuts(lsb float64) bool { return e.far > 8*lsb && e.near > 0.5*e.far }

type zeroEvent struct {
	gap    Gap
	before edge
	after  edge
	seen   int64
}

func (z *zeroWatch) init(rate float64) {
	z.long, z.short, z.most = max(64, int64(0.02*rate)), max(8, int64(0.002*rate)), max(zeroRun, int64(rate))
	z.past.init(int(z.long), int(z.short))
}

func (z *zeroWatch) add(x []float64, lsb float64) {
	for len(x) > 0 {
		if z.run == 0 && z.pending == nil {
			n := untilZero(x)
			z.past.add(x[:n])
			z.pos += int64(n)
			if x = x[n:]; len(x) == 0 {
				return
			}
		}
		v := x[0]
		if v == 0 {
			if z.run == 0 {
				z.start, z.before = z.pos, z.past.edge()
			}
			z.run++
		} else {
			if z.run >= zeroRun {
				z.settle(lsb)
				z.pending = &zeroEvent{gap: Gap{Frame: z.start, Frames: z.run, Why: "zeros"}, before: z.before}
			}
			z.run = 0
		}
		if p := z.pending; p != nil && z.run < zeroRun {
			a := math.Abs(v)
			if p.seen < z.short {
				p.after.near = math.Max(p.after.near, a)
			}
			p.after.far = math.Max(p.after.far, a)
			if p.seen++; p.seen >= z.long {
				z.settle(lsb)
			}
		}
		z.past.add(x[:1])
		z.pos++
		x = x[1:]
	}
}

// untilZero is the number of samples before the first that is 0.
func untilZero(x []float64) int {
	for i, v := range x {
		if v == 0 {
			return i
		}
	}
	return len(x)
}

// settle decides what the last run was.
func (z *zeroWatch) settle(lsb float64) {
	p := z.pending
	z.pending = nil
	if p == nil || p.before.far <= 8*lsb && p.after.far <= 8*lsb {
		return // a quiet input passes through zero by itself
	}
	if p.gap.Frame > 0 && p.gap.Frames < z.most && (p.before.cuts(lsb) || p.after.cuts(lsb)) {
		if len(z.gaps) < gapsMost {
			z.gaps = append(z.gaps, p.gap)
		}
		return
	}
	p.gap.Why = "digital silence"
	if len(z.silences) < gapsMost {
		z.silences = append(z.silences, p.gap)
	}
}

// finish settles what is open at the end; zeros up to the end are silence.
func (z *zeroWatch) finish(lsb float64) {
	z.settle(lsb)
	if z.run >= zeroRun && z.before.far > 8*lsb {
		z.silences = append(z.silences, Gap{Frame: z.start, Frames: z.run, Why: "digital silence"})
	}
}

// peakWindow is the greatest of the last samples, in sixteenths of the longer of
// two windows.
type peakWindow struct {
	parts      [17]float64
	size, fill int
	recent     []float64
	at         int
}

func (p *peakWindow) init(long, short int) {
	p.size = max(1, long/16)
	p.recent = make([]float64, short)
}

func (p *peakWindow) add(x []float64) {
	for len(x) > 0 {
		n := min(len(x), p.size-p.fill, len(p.recent)-p.at)
		recent, most := p.recent[p.at:p.at+n], p.parts[0]
		for i, v := range x[:n] {
			a := math.Abs(v)
			recent[i] = a
			if a > most {
				most = a
			}
		}
		p.parts[0] = most
		x = x[n:]
		if p.at += n; p.at == len(p.recent) {
			p.at = 0
		}
		if p.fill += n; p.fill == p.size {
			copy(p.parts[1:], p.parts[:16])
			p.parts[0], p.fill = 0, 0
		}
	}
}

func (p *peakWindow) edge() edge {
	var e edge
	for _, a := range p.recent {
		e.near = math.Max(e.near, a)
	}
	for _, a := range p.parts {
		e.far = math.Max(e.far, a)
	}
	return e
}
