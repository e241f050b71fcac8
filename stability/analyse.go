package stability

import (
	"context"
	"math"

	"setwright/quantity"
)

// Fitter fits a smooth curve to the readings f (Hz) at times t (s since
// power-on), jumps taken out; an error says why there is none.
type Fitter func(ctx context.Context, t, f []float64) (Trend, error)

// Options of [Analyse]. The zero value is the rule of the drift measurement.
type Options struct {
	HorizonS  float64   // s since power-on; 0: the end of the record
	BandsHz   []float64 // nil: 500, 100, 20 Hz
	NominalHz float64   // divides for fractional figures; 0: the mean of the record
	BeatNote  bool      // the record is a beat note: without a nominal it has no fractional frequency
	Fit       Fitter    // nil: no fit
	Draws     int       // realisations of the noise; 0: 400, fewer for very long records
	Seed      uint64    // of the draws
}

// Analysis is what a record gives, but for its fit and its Allan figures.
type Analysis struct {
	Warnings []Warning
	HorizonS float64
	Slips    []Slip
	Gaps     []int // record indices of the first readings after a gap
	Jumps    []Jump
	Trend    Trend // nil where none could be fitted
	NoTrend  error // why
	Rounds   int   // of fitting and looking for jumps

	// The readings used: slips and what lies past the horizon are left out.
	TimeS       []float64
	FrequencyHz []float64
	LevelledHz  []float64 // the same with jumps taken out, at the level of the last reading
	Smoothed    Smoothed
	Breaks      []int // positions in TimeS after a gap or a jump

	NoiseHz  float64 // standard deviation of a reading about the smooth course
	NoiseDoF float64
	Noise    Noise // the model that uncertainties are drawn from

	Closing   Result
	Excursion Result
	Settling  []Settling // in the order of the bands
	Usable    []Usable
	Wander    Wandering
	Tempco    TemperatureCoefficient
}

// Analyse takes a record apart: slips are set aside, then jumps and the smooth
// curve are found in turn until both stay the same; the record is smoothed
// within a tenth of the curve's shortest time constant; the figures are read
// off, with uncertainties from seeded realisations of the record's own noise
// (JCGM 101) laid on the curve. The same record gives the same digits.
//
// Errors are those of [Record.Check] and of ctx.
func Analyse(ctx context.Context, r Record, o Options) (*Analysis, error) {
	warnings, err := r.Check()
	if err != nil {
		return nil, err
	}
	a := &Analysis{Warnings: warnings}
	s := recSeriesOf(r, math.Inf(1))
	a.HorizonS = s.t[len(s.t)-1]
	if o.HorizonS > 0 && o.HorizonS < a.HorizonS {
		a.HorizonS = o.HorizonS
		s = s.until(o.HorizonS)
	}
	if len(s.t) < 2 {
		return nil, &TooFewReadingsError{Found: len(s.t), Need: 2}
	}
	a.Slips = slipsOf(s, r.ResolutionHz)
	if kept := s.without(a.Slips); len(kept.t) >= 2 {
		s = kept
	}
	if r.ResolutionHz <= 0 {
		r.ResolutionHz = recResolution(s.f)
	}
	a.TimeS, a.FrequencyHz = s.t, s.f
	if err := a.takeApart(ctx, s, r.ResolutionHz, o.Fit); err != nil {
		return nil, err
	}
	return a, a.figures(ctx, r, s, o)
}

// takeApart finds jumps and trend in turn, then smooths.
func (a *Analysis) takeApart(ctx context.Context, s recSeries, resolution float64, fit Fitter) error {
	gaps := Gaps(s.t)
	a.Jumps = FindJumps(s.t, s.f, gaps, nil, resolution)
	for a.Rounds = 1; fit != nil && a.Rounds <= 5; a.Rounds++ {
		a.level()
		trend, err := fit(ctx, s.t, a.LevelledHz)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			a.Trend, a.NoTrend = nil, err
			break
		}
		a.Trend = trend
		before := a.Jumps
		a.Jumps = FindJumps(s.t, s.f, gaps, trend, resolution)
		if jmpSame(before, a.Jumps) {
			break
		}
	}
	a.level()
	for _, g := range gaps {
		a.Gaps = append(a.Gaps, s.idx[g])
	}
	for i := range a.Jumps {
		a.Jumps[i].Index = s.idx[a.Jumps[i].at]
	}
	a.Breaks = jmpBreaks(gaps, a.Jumps)
	a.Smoothed = Smooth(s.t, s.f, a.Breaks, a.shortest())
	a.Smoothed.Index = s.idx
	return nil
}

// level takes the jumps out of the readings.
func (a *Analysis) level() {
	a.LevelledHz = jmpOffsets(a.Jumps, len(a.FrequencyHz))
	for i, f := range a.FrequencyHz {
		a.LevelledHz[i] += f
	}
}

// shortest is the trend's shortest time constant, 0 for none.
func (a *Analysis) shortest() float64 {
	if a.Trend == nil {
		return 0
	}
	if tau := a.Trend.ShortestTimeConstant(); tau > 0 && !math.IsInf(tau, 1) {
		return tau
	}
	return 0
}

// figures reads the figures off and finds their uncertainties.
func (a *Analysis) figures(ctx context.Context, r Record, s recSeries, o Options) error {
	bands := o.BandsHz
	if bands == nil {
		bands = []float64{500, 100, 20}
	}
	noise, sigma := a.noise(r.ResolutionHz)
	a.NoiseHz, a.NoiseDoF, a.Noise = sigma, noise.heaviest().DoF, noise
	c := ClosingFrequency(s.t, s.f, a.HorizonS)
	a.Closing = setValue(c)
	slope, u := closingSlope(s.t, a.LevelledHz, sigma)
	ahead := setAheadOf(a.Trend, a.HorizonS, slope, u)
	moves := setMovement(s.t, a.Smoothed.FrequencyHz, movingWindowS)
	for _, band := range bands {
		a.Settling = append(a.Settling, setSettling(a.Smoothed, a.Breaks, c, band, a.HorizonS, ahead, a.Trend))
		a.Usable = append(a.Usable, setUsable(a.Smoothed, moves, band))
	}
	a.smoothedUncertainty(noise)
	if a.Excursion = Excursion(a.Smoothed); a.Excursion.Kind == quantity.KindValue {
		a.Excursion.U = 0 // the draws say it
	}
	from, band, ok := setSmallestReached(a.Settling)
	a.Wander = Wandering{Result: setAbsent(ReasonNoBandReached)}
	a.Tempco = TemperatureCoefficient{Result: setAbsent(ReasonNoBandReached)}
	if ok {
		a.Wander = Wander(s.t, s.f, from)
		a.Wander.BandHz = band
		a.Tempco = a.tempco(r, s, from, o)
	}
	return a.uncertainties(ctx, noise, bands, o)
}

// tempco prepares the ambient column.
func (a *Analysis) tempco(r Record, s recSeries, from float64, o Options) TemperatureCoefficient {
	if len(r.AmbientC) == 0 {
		return TemperatureCoefficient{Result: setAbsent(ReasonNoAmbient)}
	}
	if o.BeatNote && o.NominalHz == 0 {
		return TemperatureCoefficient{Result: setAbsent(ReasonNoNominal)}
	}
	ambient := make([]float64, len(s.idx))
	for k, i := range s.idx {
		ambient[k] = r.AmbientC[i]
	}
	return Tempco(s.t, a.LevelledHz, ambient, from, o.NominalHz)
}

// jmpSame says whether two lists have the same places.
func jmpSame(a, b []Jump) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i].at != b[i].at {
			return false
		}
	}
	return true
}

// jmpBreaks merges gaps and jumps into one sorted list.
func jmpBreaks(gaps []int, jumps []Jump) []int {
	var out []int
	for i, j := 0, 0; i < len(gaps) || j < len(jumps); {
		switch {
		case j == len(jumps) || i < len(gaps) && gaps[i] < jumps[j].at:
			out = append(out, gaps[i])
			i++
		case i == len(gaps) || jumps[j].at < gaps[i]:
			out = append(out, jumps[j].at)
			j++
		default: // a jump across a gap
			i++
		}
	}
	return out
}
