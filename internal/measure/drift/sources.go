package drift

import (
	"math"

	"setwright/internal/measure"
	"setwright/quantity"
	"setwright/stability"
)

// sources are the named causes of uncertainty of one run's figures.
type sources struct {
	thermometer                []timebase // of the ambient column
	noise, powerOn, resolution quantity.Source
	powerOnUS, resolutionUHz   float64
	timebase                   []timebase
	clock                      []timebase // of the times themselves
}

// timebase is a counter's error: a fraction of the frequency read, or hertz.
type timebase struct {
	quantity.Source
	relative, absolute float64
}

// newSources names the run's own sources and those of its instruments. Two runs
// made with one counter in one calibration epoch share its source.
func newSources(raw measure.Raw, set settings, resolutionHz float64) sources {
	s := sources{
		noise:      quantity.RunSource(raw.RunID, "noise").Source("readings of the run", 0),
		powerOn:    quantity.RunSource(raw.RunID, "power-on").Source("moment of power-on", 0),
		resolution: quantity.RunSource(raw.RunID, "resolution").Source("last digit of the readings", 0),
		powerOnUS:  nonNaN(set.powerOnUS), resolutionUHz: quantity.RectangularU(resolutionHz),
	}
	for _, in := range raw.Setup.Instruments {
		if in.Reads == "ambient" && in.Relative > 0 {
			key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Quantity: "ambient", Cell: in.Cell}
			s.thermometer = append(s.thermometer, timebase{key.Source("scale of "+in.Name, in.DoF), in.Relative, 0})
		}
		if in.Reads != "frequency" || (in.Relative == 0 && in.Absolute == 0) {
			continue
		}
		key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Quantity: "frequency", Cell: in.Cell}
		s.timebase = append(s.timebase, timebase{key.Source("time base of "+in.Name, in.DoF), in.Relative, in.Absolute})
	}
	if len(s.timebase) == 0 && !math.IsNaN(set.timebase) {
		key := quantity.RunSource(raw.RunID, "time base") // nobody named the counter: it may be another one in another run
		s.timebase = append(s.timebase, timebase{key.Source("time base of the counter", 0), set.timebase, 0})
	}
	return s
}

// fromSound puts the sound input in the place of the counter: one clock makes
// both the frequencies and the times.
func (s *sources) fromSound(scale measure.SoundScale) {
	s.timebase, s.clock = nil, nil
	_, hz := scale.Hz(1)
	for _, c := range hz {
		s.timebase = append(s.timebase, timebase{c.Source, c.C, 0})
	}
	_, seconds := scale.Seconds(1)
	for _, c := range seconds {
		s.clock = append(s.clock, timebase{c.Source, c.C, 0})
	}
}

// noisy returns a value with the noise of the run.
func (s sources) noisy(x, u, dof float64) quantity.Value {
	return quantity.New(x, s.part(s.noise, u, dof))
}

// part is a contribution with the degrees of freedom of the estimate of u.
func (sources) part(src quantity.Source, c, dof float64) quantity.Contribution {
	if dof > 0 && !math.IsInf(dof, 1) {
		src.DoF = dof
	}
	return quantity.Contribution{Source: src, C: c}
}

// time returns a time of the record, which moves with the moment of power-on.
func (s sources) time(r stability.Result) quantity.Value {
	v := s.noisy(r.Value, r.U, r.DoF).With(s.part(s.powerOn, r.PerPowerOn*s.powerOnUS, 0))
	for _, b := range s.clock {
		v = v.With(quantity.Contribution{Source: b.Source, C: r.Value * b.relative})
	}
	return v
}

// change returns a difference of frequencies: the counter's relative error
// scales it, its absolute one cancels.
func (s sources) change(r stability.Result) quantity.Value {
	v := s.noisy(r.Value, r.U, r.DoF).With(s.part(s.powerOn, r.PerPowerOn*s.powerOnUS, 0))
	for _, b := range s.timebase {
		v = v.With(quantity.Contribution{Source: b.Source, C: r.Value * b.relative})
	}
	return v
}

// frequency returns a frequency: the counter's error and the last digit are
// common to all readings, so averaging does not lessen them.
func (s sources) frequency(f, u, dof float64) quantity.Value {
	v := s.noisy(f, u, dof).With(s.part(s.resolution, s.resolutionUHz, 0))
	for _, b := range s.timebase {
		v = v.With(quantity.Contribution{Source: b.Source, C: math.Hypot(f*b.relative, b.absolute)})
	}
	return v
}

// perKelvin returns a coefficient on ambient: the scale of the thermometer acts on
// it, its offset does not.
func (s sources) perKelvin(r stability.Result) quantity.Value {
	v := s.noisy(r.Value, r.U, r.DoF)
	for _, b := range s.thermometer {
		v = v.With(quantity.Contribution{Source: b.Source, C: -r.Value * b.relative})
	}
	return v
}

// sinceReading is the outcome of a time that is over when the readings begin:
// between power-on and the first reading, whose distance is itself known only as
// well as the moment of power-on.
func (s sources) sinceReading(firstS float64) quantity.Outcome {
	return quantity.Between(0, math.Max(firstS, 2*s.powerOnUS))
}

// timeOutcome is outcome for a time since power-on.
func (s sources) timeOutcome(r stability.Result) quantity.Outcome {
	switch {
	case r.Kind == quantity.KindValue && r.Value <= 0:
		return s.sinceReading(0)
	case r.Kind == quantity.KindBound && r.Value <= 0:
		return quantity.Above(quantity.Exact(0)) // no time is less
	}
	return outcome(r, s.time)
}

// outcome puts a result of the record into the form it is known in; value
// attaches the sources.
func outcome(r stability.Result, value func(stability.Result) quantity.Value) quantity.Outcome {
	o := quantity.Outcome{Kind: r.Kind, Lo: r.Lo, Hi: r.Hi, Bound: r.Bound, CI: r.CI}
	if r.Kind != quantity.KindInterval {
		o.Value = value(r)
	}
	if r.CI == nil {
		return o
	}
	o.Level = stability.Level
	if r.Kind == quantity.KindValue { // what is no noise of the run widens the interval too
		u := o.Value.U()
		r.WidenCI(quantity.Coverage(stability.Level, math.Inf(1)) * math.Sqrt(math.Max(0, u*u-r.U*r.U)))
		o.CI = &[2]float64{math.Max(0, r.CI[0]), r.CI[1]}
	}
	return o
}
