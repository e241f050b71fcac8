package signal

import (
	"math"
	"math/cmplx"
)

// humTrack follows a line frequency from block to block by the phases of its
// harmonics together, so that a supply that wanders stays in its bins.
type humTrack struct {
	hz        float64
	harmonics int
	blockS    float64
	before    []complex128 // amplitudes in the block before, nil after a gap
	sum       []float64    // of power, by harmonic
	square    []moments
	blocks    []int
	blend     []int // blocks in which the line fell on one of the tone's
	blendWith []string
	line      moments // the line frequency, block by block
	info      float64
}

func newHumTrack(hz, blockS float64, harmonics int) *humTrack {
	h := &humTrack{hz: hz, harmonics: harmonics, blockS: blockS}
	h.sum, h.square = make([]float64, harmonics), make([]moments, harmonics)
	h.blocks, h.blend = make([]int, harmonics), make([]int, harmonics)
	h.blendWith = make([]string, harmonics)
	return h
}

// humSettle is the share of the frequency error seen between two blocks that is
// taken over: an average of about seven steps.
const humSettle = 0.25

// follow corrects the line frequency by the turn of the harmonics since the
// block before, which began hop seconds earlier. An error of df turns harmonic
// h by 2π h df hop; each is weighted by its power times h.
func (t *humTrack) follow(amp []complex128, noise []float64, hop float64) {
	if t.before != nil && hop > 0 {
		var sum, weight, fine float64
		for i, a := range amp {
			h := float64(i + 1)
			if t.before[i] == 0 || a == 0 {
				continue
			}
			turn := a * cmplx.Conj(t.before[i]) * cmplx.Rect(1, -2*math.Pi*h*t.hz*hop)
			w := cmplx.Abs(turn)
			if noise[i] <= 0 || w < 12*noise[i] {
				continue // in the noise: its phase says nothing
			}
			w /= noise[i]
			sum += w * h * cmplx.Phase(turn)
			weight += w * h * h
			fine += w * h * h
		}
		if weight > 0 {
			df := sum / weight / (2 * math.Pi * hop)
			df = math.Max(-0.1, math.Min(0.1, df))
			t.line.add(t.hz + df)
			t.hz += humSettle * df
			t.info += fine
		}
	}
	t.before = append(t.before[:0], amp...)
}

func (t *humTrack) count(amp []complex128, blended []string) {
	for i, a := range amp {
		if blended[i] != "" {
			t.blend[i]++
			t.blendWith[i] = blended[i]
			continue
		}
		t.blocks[i]++
		t.square[i].add(peakPower(a))
	}
}

// result makes the figures of what was counted. Density gives the noise about a
// frequency, seconds the time the blocks count for.
func (t *humTrack) result(density func(hz float64) float64, averages float64, toHz float64) *Hum {
	hum := &Hum{LineHz: t.hz, LineU: t.lineU(density, averages)}
	if t.line.n > 1 {
		hum.LineHz = t.line.mean
	}
	variance := 0.0
	for i := range t.sum {
		h := Harmonic{N: i + 1, Hz: hum.LineHz * float64(i+1)}
		if t.blend[i] > 0 {
			hum.Blends = append(hum.Blends, t.blendWith[i])
		}
		if t.blocks[i] == 0 || h.Hz > toHz {
			hum.Harmonics = append(hum.Harmonics, h)
			continue
		}
		h.InBand = true
		h.Power, h.PowerU = linePower(t.square[i], density(h.Hz), t.blockS, averages)
		hum.raw += h.Power
		variance += h.PowerU * h.PowerU
		hum.Harmonics = append(hum.Harmonics, h)
	}
	hum.PowerU = math.Sqrt(variance)
	hum.Power = math.Max(0, hum.raw)
	if hum.raw < 2*hum.PowerU {
		hum.bound()
	}
	return hum
}

// lineU is the uncertainty of the line frequency: for one line in noise of
// density S the bound is var f = 3S/(2π² P T³) (D. C. Rife and R. R. Boorstyn,
// IEEE Trans. IT-20 (1974) 591, from memory); harmonic h knows h² as much, and
// the blocks' mean shares it out; or by the scatter of the blocks if that is
// greater, since a supply does wander.
func (t *humTrack) lineU(density func(hz float64) float64, averages float64) float64 {
	info := 0.0
	for i, m := range t.square {
		h := float64(i + 1)
		if s := density(t.hz * h); s > 0 && m.n > 0 {
			info += h * h * math.Max(0, m.mean) * 2 * math.Pi * math.Pi * math.Pow(t.blockS, 3) / (3 * s)
		}
	}
	if info == 0 {
		return 0.05
	}
	u := 1.5 / math.Sqrt(info*math.Max(1, averages))
	if n := t.line.n; n > 3 {
		u = math.Max(u, math.Sqrt(t.line.variance()/float64(n)))
	}
	return u
}

// linePower is the power of a line from its power in each block: the noise that
// falls in with it taken off, the uncertainty by the noise and, where the line
// swells and fades more than that, by the scatter.
func linePower(m moments, density, blockS, averages float64) (p, u float64) {
	v1 := lineVariance * density / blockS // of each part of the amplitude, one block
	p = m.mean - v1
	// var(½a²) = A²v + v² for each block.
	v := (2*math.Max(0, p)*v1 + v1*v1) / math.Max(1, averages*lineVariance)
	if m.n >= 4 {
		v = math.Max(v, m.variance()/float64(m.n))
	}
	return p, math.Sqrt(v)
}

// bound makes a hum that noise hides into a bound: its power is that at most,
// with 95 % confidence.
func (h *Hum) bound() {
	h.Upper = true
	h.Power = math.Max(0, h.raw) + 1.645*h.PowerU
}
