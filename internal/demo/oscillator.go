package demo

import (
	"math"
	"math/rand/v2"
	"time"
)

// Everything in this package is invented: two sets that never were, in a
// museum that is not there. The logs are computed from a seed by the model
// below, so that the demonstration says the same on every machine.

// oscillator is the make-believe behaviour of one local oscillator from cold:
// the valve and what is near it warm up in minutes, chassis and coil box in
// tens of minutes, and both pull the frequency.
type oscillator struct {
	endHz     float64 // where it ends, at 20 °C
	valveHz   float64 // movement with the valve's warmth: start minus end
	valveS    float64 // its time constant
	chassisHz float64
	chassisS  float64
	perKelvin float64 // Hz a kelvin of the room
	driftHzH  float64 // slow drift that goes on
	whiteHz   float64 // reading noise
	walkHz    float64 // random walk: Hz per root hour
	morningly float64 // scatter of the movements from one morning to the next, as a fraction
	tempoly   float64 // the same of the time constants
}

// sitting is one cold morning.
type sitting struct {
	start    time.Time
	every    time.Duration
	lasts    time.Duration
	ambientC float64
	warmsC   float64 // how much the room warms over the sitting
	lineV    float64
	offHours float64
	jumps    []jump
	slips    []slip
	seed     uint64
}

// jump is a step of the oscillator, as a failing mica capacitor makes it.
type jump struct {
	at     time.Duration
	sizeHz float64
}

// slip is one wrong reading: the counter drops its last digit but k.
type slip struct {
	at     time.Duration
	factor float64
}

// reading is one line of a log.
type reading struct {
	at       time.Duration // since power-on
	hz       float64
	ambientC float64
}

// readings computes the log of one sitting.
func (o oscillator) readings(s sitting) []reading {
	rng := rand.New(rand.NewPCG(s.seed, 7))
	scale := 1 + o.morningly*rng.NormFloat64()
	tempo := math.Exp(o.tempoly * rng.NormFloat64())
	walk, step := 0.0, o.walkHz*math.Sqrt(s.every.Hours())
	var out []reading
	for at := s.every; at <= s.lasts; at += s.every {
		t := at.Seconds()
		walk += step * rng.NormFloat64()
		room := s.ambientC + s.warmsC*at.Seconds()/s.lasts.Seconds()
		hz := o.endHz + scale*(o.valveHz*math.Exp(-t/(o.valveS*tempo))+o.chassisHz*math.Exp(-t/(o.chassisS*tempo)))
		hz += o.driftHzH*at.Hours() + o.perKelvin*(room-20) + walk + o.whiteHz*rng.NormFloat64()
		for _, j := range s.jumps {
			if at >= j.at {
				hz += j.sizeHz
			}
		}
		for _, x := range s.slips {
			if at == x.at {
				hz *= x.factor
			}
		}
		out = append(out, reading{at: at, hz: hz, ambientC: room + 0.03*rng.NormFloat64()})
	}
	return out
}
