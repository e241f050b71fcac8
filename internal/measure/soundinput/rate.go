package soundinput

import (
	"fmt"
	"math"
	"slices"

	"setwright/quantity"
	"setwright/signal"
)

// rate takes the error of the sample rate from a known frequency.
func (c *calibration) rate(r Rate) error {
	var e, u float64
	err := c.each(r.Recording, func(src signal.Source) (err error) {
		if r.Ticks {
			e, u, err = c.byTicks(r, src)
		} else {
			e, u, err = c.byTone(r, src)
		}
		return err
	})
	if err != nil {
		return err
	}
	if math.Abs(e) > 0.01 {
		return refuse(r.Recording, fmt.Sprintf("a sample rate that would be %.1f %% wrong", 100*e), "less than 1 %", "is it the frequency that was fed in?")
	}
	c.out.Sound.RateError, c.out.Sound.RateErrorU = e, u
	shown := quantity.New(1e6*e, quantity.Contribution{Source: quantity.Source{ID: "u"}, C: 1e6 * u})
	c.say("The sample rate is off by %s.", quantity.Format(shown, "ppm"))
	return nil
}

// byTone compares a tone's frequency by the nominal sample rate with the true
// one: a clock that runs fast makes it read low.
func (c *calibration) byTone(r Rate, src signal.Source) (e, u float64, err error) {
	hz := r.Hz.Estimate()
	if !(hz > 0) {
		return 0, 0, refuse(r.Recording, fmt.Sprintf("a frequency of %g Hz", hz), "the true frequency of the tone", "")
	}
	track, err := signal.TrackTone(c.ctx, src, signal.TrackOptions{FromHz: 0.97 * hz, ToHz: 1.03 * hz, Gaps: r.Recording.Gaps(), Frames: r.Recording.Frames}, nil)
	if err != nil {
		return 0, 0, err
	}
	read, readU, ok := meanFrequency(track)
	if !ok {
		return 0, 0, refuse(r.Recording, "no tone within 3 % of "+quantity.FormatNumber(hz, "Hz")+" that lasts", "10 s of it without a gap at least", "")
	}
	if r.Hz.U() == 0 {
		c.out.Warnings = append(c.out.Warnings, "no uncertainty was given for the known frequency: that of the sample rate holds the recording's noise only")
	}
	c.from = append(c.from, "rate by a tone of "+quantity.Format(r.Hz, "Hz"))
	return hz/read - 1, math.Hypot(r.Hz.U()/hz, readU/read), nil
}

// meanFrequency is the slope of the phase over the whole stretches of a track,
// each by a straight line, weighted by what each knows.
func meanFrequency(t *signal.Track) (hz, u float64, ok bool) {
	runs := map[int][]signal.TrackPoint{}
	for _, p := range t.Points {
		if !p.Lost {
			runs[p.Run] = append(runs[p.Run], p)
		}
	}
	var sum, weight float64
	for _, k := range slices.Sorted(keysOf(runs)) {
		f, fu, ok := phaseSlope(runs[k])
		if !ok {
			continue
		}
		sum += f / (fu * fu)
		weight += 1 / (fu * fu)
	}
	if weight == 0 {
		return 0, 0, false
	}
	return sum / weight, 1 / math.Sqrt(weight), true
}

// leastPoints is how many points a stretch must have for its slope to count.
const leastPoints = 10

// phaseSlope fits a line to the unwrapped phase. Its uncertainty is that of the
// residuals, taken as correlated over a tenth of the stretch: a tone that
// wanders does not average out like white noise.
func phaseSlope(points []signal.TrackPoint) (hz, u float64, ok bool) {
	n := float64(len(points))
	if len(points) < leastPoints {
		return 0, 0, false
	}
	var mt, mc float64
	for _, p := range points {
		mt += p.TimeS / n
		mc += p.Cycles / n
	}
	var stt, stc float64
	for _, p := range points {
		stt += (p.TimeS - mt) * (p.TimeS - mt)
		stc += (p.TimeS - mt) * (p.Cycles - mc)
	}
	hz = stc / stt
	var rss float64
	for _, p := range points {
		d := p.Cycles - mc - hz*(p.TimeS-mt)
		rss += d * d
	}
	return hz, math.Sqrt(rss/(n-2)/stt) * math.Sqrt(math.Max(1, n/10)), true
}

// pathU is by how much the path over the ionosphere may lengthen or shorten
// within a recording of minutes, in seconds; over its length it passes for an
// error of the rate (a judgement, no source).
const pathU = 1e-3

// byTicks takes the rate from marks that come a second apart.
func (c *calibration) byTicks(r Rate, src signal.Source) (e, u float64, err error) {
	t, err := signal.MeasureTickRate(c.ctx, src, signal.TickOptions{Gaps: r.Recording.Gaps(), Frames: r.Recording.Frames}, nil)
	if err != nil {
		return 0, 0, err
	}
	c.from = append(c.from, fmt.Sprintf("rate by %d ticks a second apart", t.Ticks))
	return t.RateError, math.Hypot(t.RateErrorU, pathU/t.SpanS), nil
}
