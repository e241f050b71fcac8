package selectivity

import (
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/selectivity/passband"
	"setwright/quantity"
)

// sources are the named causes of uncertainty of one run's figures.
type sources struct {
	readings, resolution quantity.Source
	// resolutionShare is the part of the variance of one reading that its last
	// digit makes.
	resolutionShare float64
	step, tails     quantity.Source
	stepU           float64 // of one frequency, Hz
	level           quantity.Source
	levelU          float64 // of a difference of levels, as a fraction
	scale           []scale
	absolute        bool // frequencies are absolute, not offsets
}

// scale is an error of frequency: a fraction of it, or hertz.
type scale struct {
	quantity.Source
	relative, absolute float64
}

// newSources names the run's own sources and those of its instruments.
func newSources(raw measure.Raw, c *curve, fit *passband.Curve) sources {
	of := func(what, name string) quantity.Source { return quantity.RunSource(raw.RunID, what).Source(name, 0) }
	s := sources{
		readings: of("noise", "scatter of the readings and what lies between them"), resolution: of("resolution", "last digit of the levels"),
		step: of("frequency steps", "last digit of the frequencies"), tails: quantity.SourceKey{Kind: quantity.FromMethod, Of: "selectivity", Quantity: "skirts beyond the readings"}.Source("skirts beyond the readings", 0),
		stepU: quantity.RectangularU(c.stepHz), levelU: c.levelU, absolute: !c.offsets && !c.known,
	}
	if c.known {
		// The roughness is taken from the same noise; twelve degrees of freedom
		// are what the coverage simulations want.
		s.readings.Name, s.readings.DoF = "noise averaged for a limited time", 12
	} else {
		// The fit spends most of the readings on the curve itself; a third is
		// what the coverage simulations want.
		s.readings.DoF = math.Max(4, float64(len(c.points))/3)
		last := c.stepDB * c.stepDB / 12
		s.resolutionShare = last / (last + fit.Scatter*fit.Scatter)
	}
	s.level = of("level steps", "level steps of the generator")
	if c.levelOf == "output" {
		s.level = quantity.SourceKey{Kind: quantity.FromSet, Of: raw.RunID, Quantity: "detector law"}.Source("law of the detector", 0)
	}
	for _, p := range c.rate {
		s.scale = append(s.scale, scale{Source: p.Source, relative: p.C})
	}
	for _, in := range raw.Setup.Instruments {
		key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Cell: in.Cell}
		switch in.Reads {
		case "input":
			if c.levelOf == "input" {
				key.Quantity = "level steps"
				s.level = key.Source("level steps of "+in.Name, in.DoF)
			}
		case "frequency", "offset":
			if c.known {
				continue // the generator took no part
			}
			key.Quantity = "frequency"
			s.scale = append(s.scale, scale{key.Source("frequency of "+in.Name, in.DoF), in.Relative, in.Absolute})
		}
	}
	return s
}

// parts says how the sources act on a number of the shape: perLevel is by how
// much it would be larger if all decibels were larger by their whole; scaled is
// the part of it that an error of the frequency scale scales, offset how often
// an absolute error of frequency is in it, edges how many edges it has.
type parts struct {
	perLevel, scaled, offset, edges float64
}

// value gives a number of the shape its sources; u is its scatter.
func (s sources) value(x, u float64, p parts) quantity.Value {
	v := quantity.New(x,
		quantity.Contribution{Source: s.readings, C: u * math.Sqrt(1-s.resolutionShare)},
		quantity.Contribution{Source: s.resolution, C: u * math.Sqrt(s.resolutionShare)},
	)
	if c := s.stepU * math.Sqrt(p.edges); c > 0 {
		v = v.With(quantity.Contribution{Source: s.step, C: c})
	}
	if c := p.perLevel * s.levelU; c != 0 && !math.IsNaN(c) && !math.IsInf(c, 0) {
		v = v.With(quantity.Contribution{Source: s.level, C: c})
	}
	for _, f := range s.scale {
		if c := p.scaled*f.relative + p.offset*f.absolute; c != 0 {
			v = v.With(quantity.Contribution{Source: f.Source, C: c})
		}
	}
	return v
}
