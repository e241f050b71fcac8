package signal

import "math"

// Event is a place where the wave has a flat top.
type Event struct {
	Frame, Frames int64
	Peak          float64 // with its sign
}

// clipWatch finds flat tops at any level: three samples or more at one value
// that the wave reaches steeply from both sides. The natural top of a wave is
// no such thing: where it is flat it is reached gently. Clipping has a level of
// its own: the same value again and again, and next to no peak above it.
type clipWatch struct {
	pos       int64
	before    float64 // the sample before the run
	value     float64 // of the run
	run       int64
	start     int64
	last, two float64 // the last two samples, for peaks
	flats     map[clipBin]*clipCount
	peaks     [2][]int64 // peaks up and down by size, see peakCell
	events    []clipEvent
	full      int64 // samples in runs at full scale
}

// clipBin is a level of one sign, in steps of half a per cent.
type clipBin struct {
	sign  int8
	level int16
}

type clipCount struct {
	runs, frames int64
	sum          float64
}

type clipEvent struct {
	Event
	bin clipBin
}

// eventsMost is how many flat tops are kept with their place.
const eventsMost = 10000

// clipTolerance is how far samples of a flat top may differ, as a share of it;
// the least step of the converter where that is more.
const clipTolerance = 0.0005

// fullScale is the size from which a sample has reached full scale: that of 16
// bits less one step.
const fullScale = 1 - 1.5/32768

func newClipWatch() *clipWatch {
	return &clipWatch{flats: map[clipBin]*clipCount{}, peaks: [2][]int64{make([]int64, peakCells), make([]int64, peakCells)}}
}

// Sizes of peaks are counted in cells of 1/512 of an octave at most, from 2 to
// the power of −31 up to 8 and what is greater.
const (
	peakMantissa = 9
	peakLowest   = (1023 - 31) << peakMantissa
	peakCells    = 34 << peakMantissa
)

// peakCell is the cell of a size, the upper bits of the number: no logarithm.
func peakCell(size float64) int {
	return max(0, min(peakCells-1, int(math.Float64bits(size)>>(52-peakMantissa))-peakLowest))
}

// peakSize is the middle of a cell.
func peakSize(cell int) float64 {
	return math.Float64frombits(uint64(cell+peakLowest)<<(52-peakMantissa) | 1<<(51-peakMantissa))
}

func clipBinOf(v float64) clipBin {
	sign := int8(1)
	if v < 0 {
		sign, v = -1, -v
	}
	return clipBin{sign, int16(math.Round(math.Log(math.Max(v, 1e-9)) / 0.005))}
}

func (c *clipWatch) add(x []float64, lsb float64) {
	least := 8 * lsb
	tol := c.tolerance(lsb)
	for _, v := range x {
		if math.Abs(v-c.value) <= tol && c.pos > 0 {
			c.run++
		} else {
			if c.run > 1 {
				c.ends(v, tol, lsb)
			}
			c.before, c.value, c.run, c.start = c.last, v, 1, c.pos
			tol = c.tolerance(lsb)
		}
		// Before the first two samples there is nothing, which is no peak.
		if a := math.Abs(c.last); a > math.Abs(v) && a > math.Abs(c.two) && a > least && c.pos > 1 {
			c.peaks[math.Float64bits(c.last)>>63][peakCell(a)]++
		}
		c.two, c.last = c.last, v
		c.pos++
	}
}

// tolerance is how far samples may differ from the value of the run.
func (c *clipWatch) tolerance(lsb float64) float64 {
	return max(1.01*lsb, clipTolerance*math.Abs(c.value))
}

// ends judges the run that sample v broke.
func (c *clipWatch) ends(v, tol, lsb float64) {
	size := math.Abs(c.value)
	if c.run >= 2 && size >= fullScale {
		c.full += c.run
		c.keep()
		return
	}
	if c.run < 3 || size < 8*lsb || size == 0 {
		return
	}
	sign := math.Copysign(1, c.value)
	if sign*(c.value-c.before) < 4*tol || sign*(c.value-v) < 4*tol {
		return
	}
	c.keep()
}

func (c *clipWatch) keep() {
	b := clipBinOf(c.value)
	n := c.flats[b]
	if n == nil {
		n = &clipCount{}
		c.flats[b] = n
	}
	n.runs++
	n.frames += c.run
	n.sum += math.Abs(c.value)
	if len(c.events) < eventsMost {
		c.events = append(c.events, clipEvent{Event{c.start, c.run, c.value}, b})
	}
}

// result fills what was found, for each sign by itself.
func (c *clipWatch) result(d *Defects) {
	c.ends(0, 0, 0)
	levels, total := 0.0, int64(0)
	for _, sign := range []int8{1, -1} {
		best, runs := clipBin{sign: sign}, int64(0)
		for b := range c.flats {
			if r := c.about(b); b.sign == sign && (r > runs || r == runs && r > 0 && b.level > best.level) {
				best, runs = b, r
			}
		}
		full := best.level >= clipBinOf(fullScale).level
		if runs == 0 || !full && (runs < 3 || c.above(best)*10 > runs) {
			continue
		}
		for b, n := range c.flats {
			if b.sign == sign && b.level >= best.level-1 && b.level <= best.level+1 {
				d.ClippedFrames += n.frames
				levels += n.sum
				total += n.runs
			}
		}
		for _, e := range c.events {
			if e.bin.sign == sign && e.bin.level >= best.level-1 && e.bin.level <= best.level+1 {
				d.Clipped = append(d.Clipped, e.Event)
			}
		}
	}
	if total > 0 {
		d.ClipLevel = levels / float64(total)
	}
}

// about is the number of flat tops at a level and one step beside it.
func (c *clipWatch) about(b clipBin) int64 {
	sum := int64(0)
	for l := b.level - 1; l <= b.level+1; l++ {
		if n := c.flats[clipBin{b.sign, l}]; n != nil {
			sum += n.runs
		}
	}
	return sum
}

// above is the number of peaks of that sign that pass the level.
func (c *clipWatch) above(b clipBin) int64 {
	sum := int64(0)
	counts := c.peaks[0]
	if b.sign < 0 {
		counts = c.peaks[1]
	}
	for cell, n := range counts {
		if n > 0 && clipBinOf(peakSize(cell)).level > b.level+1 {
			sum += n
		}
	}
	return sum
}
