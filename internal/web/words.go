package web

import (
	"net/http"

	"setwright/internal/measure"
)

// wordsPage lists the words that the pages use, one meaning each.
type wordsPage struct {
	Page
	Words        []word
	Verdicts     []word
	Measurements []measure.About
}

// word is a word with its meaning.
type word struct{ Word, Means string }

// benchWords are the words of the trade as they are used here.
var benchWords = []word{
	{"set", "One physical receiver, with a serial of its own."},
	{"configuration", "How a set is built: which modifications are in, which parts were replaced. It can come back: “regulator out again” is the old configuration."},
	{"state", "A configuration from a date on, with an alignment. Any electrical change starts a new state, and every run belongs to exactly one. What a switch or control does during a run is no state."},
	{"modification", "A change to the original circuit: what gives it away, what it acts on, what it is said to do, how it is undone."},
	{"claim", "A figure, a direction and an amount, with its source: “settling time shorter by a third”."},
	{"measurement", "A kind of measuring: what it needs, how it is done, what it yields."},
	{"run", "One sitting of one measurement on one state: set-up, raw readings or recordings, notes."},
	{"amendment", "A later note on a run: a reading struck out, a unit put right, with reason and date. The raw data never change; figures are computed from them with the amendments applied, and say so."},
	{"set-up", "The instruments of a run with their calibrations, dummy antenna, pads, and what else stood round the set."},
	{"reading", "One number with its unit and time. A series is a table of readings."},
	{"recording", "Sound that belongs to a run: the set's output, kept sample by sample as it came. What was set while it was made is written on it as labels."},
	{"sound input", "What turns the set's output into samples. An instrument like any other: once calibrated, its errors are known by name; as long as it is not, every figure that needs it says so."},
	{"full scale, dBFS", "The largest sample a sound input can give. 0 dBFS is a sine that just reaches it; volts follow from the calibration."},
	{"clipped", "Beyond full scale, so that the tops are cut off: levels then read low and distortion high."},
	{"gap", "A place in a recording where samples were lost, put in or made silent on the way. Nothing is carried across it: no phase, no time, no level."},
	{"stretch", "The part of a recording that a figure came from, or that no gap breaks."},
	{"mark", "A moment of a recording marked by hand while it was made."},
	{"density", "How strong a noise is in a band of 1 Hz. A tone stands above it the further, the narrower one looks."},
	{"beat note", "The tone of a carrier against the BFO. At zero beat it falls through silence, and which side it is on cannot be heard any more."},
	{"EMF, PD, available", "Of a generator's level: EMF is its voltage with nothing connected, PD that across a matched load, half as much; available is the power such a load would take, in dBm."},
	{"(S+N)/N", "Output with the signal over output without it, in dB. At 10 dB it names a sensitivity."},
	{"SINAD", "Everything that comes out over everything but the tone, in dB: (S+N+D)/(N+D)."},
	{"noise figure", "By how much the set's own noise exceeds what its source must give, in dB. It does not depend on the bandwidth, so it compares sets of unequal width."},
	{"noise bandwidth", "Width of the ideal filter that passes as much noise as the set does."},
	{"attack, recovery", "How long gain control takes after a step up, or down, until the output stays near where it settles."},
	{"figure", "A result computed by one named method, with the conditions it holds under. It is a value with its uncertainty, an interval (“between 20 and 40 min”), a bound (“more than 38 min”), a count, or a choice."},
	{"±", "One standard uncertainty: the true value lies within it about two times in three, and within twice of it about nineteen times in twenty."},
	{"budget", "What an uncertainty is made of: each source by its name, with what it adds. Sources that two runs share cancel when they are compared."},
	{"horizon", "The time from power-on at which a figure looks back. Figures are compared at the same horizon."},
	{"side A, side B", "The two sides of a comparison: A a filled dot, B an open diamond."},
	{"book", "Everything that is kept: one folder on this computer."},
}

// verdictWords are the words of a judgement.
var verdictWords = []word{
	{"better, worse", "The difference is real, and more than the amount that matters."},
	{"better (or worse), perhaps by too little to matter", "The difference is real; whether it is large enough to matter is not certain."},
	{"no difference that matters", "Any difference is certainly smaller than the amount that matters, even where it is real."},
	{"cannot tell yet", "The runs allow neither; the page says how many more would."},
	{"kept, kept in part, not kept", "Of a claim: it does what it promises; it does some of it; it does not."},
}

// words shows the words used.
func (s *Server) words(w http.ResponseWriter, r *http.Request) error {
	p := wordsPage{Page: Page{Title: "Words, one meaning each", Nav: "words"}, Words: benchWords, Verdicts: verdictWords}
	for _, id := range s.shop.Registry.IDs() {
		m, err := s.shop.Registry.Get(id)
		if err != nil {
			return err
		}
		p.Measurements = append(p.Measurements, m.About())
	}
	return s.show(w, r, "words", p)
}
