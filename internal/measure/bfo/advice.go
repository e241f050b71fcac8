package bfo

import (
	"fmt"
	"math"

	"setwright/quantity"
)

// Situation is what a set offers for copying signals without a carrier. All
// frequencies are in hertz, those of the IF from the nominal middle of the
// passband.
type Situation struct {
	BFOLow, BFOHigh       float64 // reach of the BFO; equal where it is fixed
	PassLow, PassHigh     float64
	SpeechLow, SpeechHigh float64 // audio
	Enough                float64 // share of the speech that must lie within the passband
	Pitch                 float64
	PitchLow, PitchHigh   float64
	Inverted              bool // an odd number of oscillators above the signal
}

// Advice is how to set BFO and dial for one kind of signal. The dial is taken
// to show the frequency that falls on the middle of the passband.
type Advice struct {
	Mode            string // "USB", "LSB", "CW"
	Copied          bool
	BFO             float64 // from the middle
	CarrierLessDial float64 // suppressed carrier, or the telegraphy signal, less the dial
	Low, High       float64 // where the signal lies in the IF, from the middle
	Share           float64 // of the band of speech within the passband; 1 for telegraphy
	Other           float64 // share of the other sideband that comes in too, or 1 if the other side of zero beat does
	Rises           bool    // the tone of a steady carrier rises as its signal frequency does
	Pitch           float64 // for CW
}

// The kinds of signal.
const (
	USB = "USB"
	LSB = "LSB"
	CW  = "CW"
)

// Modes are the kinds of signal in the order in which they are listed.
var Modes = []string{USB, LSB, CW}

// Advise says how one kind of signal is best copied.
func Advise(mode string, s Situation) Advice {
	if mode == CW {
		return s.telegraphy()
	}
	// On which side of the BFO the sideband lies in the IF.
	dir := 1.0
	if (mode == USB) == s.Inverted {
		dir = -1
	}
	a := Advice{Mode: mode, BFO: s.reach(s.best(dir))}
	a.Low, a.High = order(a.BFO+dir*s.SpeechLow, a.BFO+dir*s.SpeechHigh)
	a.Share = s.within(a.Low, a.High)
	a.Other = s.within(order(a.BFO-dir*s.SpeechLow, a.BFO-dir*s.SpeechHigh))
	a.CarrierLessDial = s.signal(a.BFO)
	a.Rises = (dir > 0) != s.Inverted
	a.Copied = a.Share >= s.Enough-1e-9
	return a
}

// best is where the BFO should be: so that the speech lies in the middle of a
// passband narrower than it; with a wider one, so that its low end lies at
// the passband's edge and the other sideband beyond.
func (s Situation) best(dir float64) float64 {
	if s.PassHigh-s.PassLow <= s.SpeechHigh-s.SpeechLow {
		return (s.PassLow+s.PassHigh)/2 - dir*(s.SpeechLow+s.SpeechHigh)/2
	}
	if dir > 0 {
		return s.PassLow - s.SpeechLow
	}
	return s.PassHigh + s.SpeechLow
}

// reach is the nearest frequency that the BFO can have.
func (s Situation) reach(hz float64) float64 {
	return math.Max(s.BFOLow, math.Min(s.BFOHigh, hz))
}

// signal is a frequency of the IF as a signal frequency less the dial.
func (s Situation) signal(hz float64) float64 {
	if s.Inverted {
		hz = -hz
	}
	return hz + 0 // no negative zero
}

// within is the share of a band of speech that the passband lets through.
func (s Situation) within(lo, hi float64) float64 {
	common := math.Min(hi, s.PassHigh) - math.Max(lo, s.PassLow)
	return math.Max(0, common) / (s.SpeechHigh - s.SpeechLow)
}

func order(a, b float64) (lo, hi float64) { return math.Min(a, b), math.Max(a, b) }

// telegraphy looks for a place within the passband that beats with the BFO at
// a pitch one can listen to: in the middle where the BFO reaches, else as near
// to it as the pitch allows. The sense that keeps the other side of zero beat
// out is preferred.
func (s Situation) telegraphy() Advice {
	best := Advice{Mode: CW, BFO: s.reach(0), Other: 1}
	score := math.Inf(1)
	middle := (s.PassLow + s.PassHigh) / 2
	for _, sense := range []float64{1, -1} { // BFO above the signal, below it
		for _, pitch := range []float64{s.Pitch, s.PitchLow, s.PitchHigh} {
			b := s.reach(middle + sense*pitch)
			at := b - sense*pitch
			if at < s.PassLow || at > s.PassHigh {
				continue
			}
			other := 0.0
			if image := b + sense*pitch; image >= s.PassLow && image <= s.PassHigh {
				other = 1
			}
			cost := math.Abs(pitch-s.Pitch) + math.Abs(at-middle) + 100*other
			if cost < score-1e-9 {
				score = cost
				best = Advice{Mode: CW, Copied: true, BFO: b, CarrierLessDial: s.signal(at), Low: at, High: at, Share: 1, Other: other, Pitch: pitch,
					Rises: (sense < 0) != s.Inverted}
			}
		}
	}
	return best
}

// Text says in words what to do.
func (a Advice) Text(fixed bool) string {
	if !a.Copied {
		if a.Mode == CW {
			return "not copied: no place within the passband beats with the BFO at a pitch to listen to"
		}
		return fmt.Sprintf("not copied: only %.0f %% of the speech comes through; the BFO would have to stand further off", 100*a.Share)
	}
	what := "the suppressed carrier"
	if a.Mode == CW {
		what = fmt.Sprintf("the signal, heard at %s,", hertz(a.Pitch))
	}
	dial := fmt.Sprintf("%s is then at what the dial shows", what)
	if d := math.Round(a.CarrierLessDial/10) * 10; d != 0 {
		dial = fmt.Sprintf("%s is then %s %s what the dial shows", what, hertz(math.Abs(d)), aboveBelow(d))
	}
	text := fmt.Sprintf("set the BFO %s; %s", besideMiddle(a.BFO), dial)
	if fixed {
		text = fmt.Sprintf("the BFO stands %s: set the dial so that %s", besideMiddle(a.BFO), what+" is "+dialWords(a.CarrierLessDial))
	}
	if a.Other > 0.05 {
		other := fmt.Sprintf("%.0f %% of the other sideband comes in too", 100*a.Other)
		if a.Mode == CW {
			other = "the other side of zero beat comes in too"
		}
		text += "; " + other
	}
	return text
}

func dialWords(d float64) string {
	if d = math.Round(d/10) * 10; d != 0 {
		return fmt.Sprintf("%s %s what it shows", hertz(math.Abs(d)), aboveBelow(d))
	}
	return "where it shows"
}

func besideMiddle(hz float64) string {
	if hz = math.Round(hz/10) * 10; hz != 0 {
		return fmt.Sprintf("%s %s the middle of the passband", hertz(math.Abs(hz)), aboveBelow(hz))
	}
	return "on the middle of the passband"
}

func aboveBelow(hz float64) string {
	if hz < 0 {
		return "below"
	}
	return "above"
}

func hertz(hz float64) string { return quantity.FormatNumber(math.Round(hz/10)*10, "Hz") }
