package signal

import "math"

// A repeated block is 128 to 4800 samples that are, one by one, those that came
// at most repeatLag samples before.
const (
	repeatLeast = 128
	repeatMost  = 4800
	repeatLag   = 9600
	repeatKey   = 16      // samples that a key is made of
	repeatRing  = 1 << 15 // samples kept; more than lag and longest run
	repeatTable = 1 << 15
)

// repeatWatch finds exact repeats by the keys of short runs of samples. Signals
// that repeat by themselves are told apart: a constant, a periodic wave (whose
// repeat begins without a break, or goes on for longer than a block), an input
// so quiet that it takes a few values only.
type repeatWatch struct {
	ring    []float64
	keys    []uint64 // of the repeatKey samples that end here
	seen    []int64  // by key: where it last ended, plus 1
	key     uint64
	power   uint64 // repeatPrime to the power repeatKey
	pos     int64
	lag     int64 // of the run that is going on, 0: none
	from    int64
	gaps    []Gap
	changes int64 // samples in the run that differ from the one before
}

const repeatPrime = 0x9E3779B97F4A7C15

func (r *repeatWatch) init() {
	r.ring, r.keys, r.seen = make([]float64, repeatRing), make([]uint64, repeatRing), make([]int64, repeatTable)
	r.power = 1
	for range repeatKey {
		r.power *= repeatPrime
	}
}

func (r *repeatWatch) at(pos int64) float64 { return r.ring[pos&(repeatRing-1)] }

func (r *repeatWatch) add(x []float64, lsb float64) {
	for _, v := range x {
		i := r.pos
		bits := math.Float64bits(v) | 1
		r.key = r.key*repeatPrime + bits
		if i >= repeatKey {
			r.key -= r.power * (math.Float64bits(r.at(i-repeatKey)) | 1)
		}
		r.ring[i&(repeatRing-1)] = v
		r.pos++
		if r.lag > 0 {
			if v == r.at(i-r.lag) {
				if v != r.at(i-1) {
					r.changes++
				}
				continue
			}
			r.ends(i, lsb)
		}
		if i < repeatKey {
			continue
		}
		slot := (r.key ^ r.key>>29) * repeatPrime >> 49
		if p := r.seen[slot] - 1; p >= 0 && i-p <= repeatLag && r.keys[p&(repeatRing-1)] == r.key {
			r.begins(i, i-p)
		}
		r.seen[slot] = i + 1
		r.keys[i&(repeatRing-1)] = r.key
	}
}

// begins starts a run whose first key ends at i, if the samples bear it out.
func (r *repeatWatch) begins(i, lag int64) {
	if lag < repeatLeast {
		return // a wave that repeats within so little does so by itself
	}
	from := i + 1
	for from > 0 && i-from < repeatMost+repeatLag && from-1-lag >= 0 && r.pos-(from-1-lag) < repeatRing && r.at(from-1) == r.at(from-1-lag) {
		from--
	}
	if i-from < repeatKey-1 {
		return
	}
	r.lag, r.from, r.changes = lag, from, 0
	for k := from + 1; k <= i; k++ {
		if r.at(k) != r.at(k-1) {
			r.changes++
		}
	}
}

// ends judges the run that sample i broke.
func (r *repeatWatch) ends(i int64, lsb float64) {
	n := i - r.from
	r.lag = 0
	if n < repeatLeast || n > repeatMost || r.changes < n/8 || r.changes < 32 {
		return
	}
	if r.quiet(r.from, n, lsb) || r.smooth(r.from, lsb) && r.smooth(i, lsb) {
		return
	}
	if len(r.gaps) < gapsMost {
		r.gaps = append(r.gaps, Gap{Frame: r.from, Frames: n, Why: "repeated block"})
	}
}

// quiet says that the run spans a few steps of the converter only.
func (r *repeatWatch) quiet(from, n int64, lsb float64) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	for k := from; k < from+n; k++ {
		lo, hi = math.Min(lo, r.at(k)), math.Max(hi, r.at(k))
	}
	return hi-lo < 6*lsb
}

// smooth says that the wave passes sample i as a pure tone would: by the
// recurrence x[n+1] = c x[n] − x[n−1] with c from before, as well as it keeps
// to that elsewhere. A block of a tone that was put in breaks it.
func (r *repeatWatch) smooth(i int64, lsb float64) bool {
	const reach = 48
	if i < reach+2 {
		return false
	}
	var xy, xx float64
	for k := i - reach; k < i-1; k++ {
		xy += (r.at(k+1) + r.at(k-1)) * r.at(k)
		xx += r.at(k) * r.at(k)
	}
	if xx == 0 {
		return true
	}
	c, worst, peak := xy/xx, 0.0, 0.0
	for k := i - reach; k < i-1; k++ {
		worst = math.Max(worst, math.Abs(r.at(k+1)+r.at(k-1)-c*r.at(k)))
		peak = math.Max(peak, math.Abs(r.at(k)))
	}
	if worst > 4*lsb+1e-6*peak {
		return false // no pure tone: it does not repeat by itself
	}
	last := r.pos - 1
	for k := i - 1; k <= min(i, last-1); k++ {
		if math.Abs(r.at(k+1)+r.at(k-1)-c*r.at(k)) > 4*(worst+lsb)+1e-6*peak {
			return false
		}
	}
	return true
}
