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
	{"run", "One sitting of one measurement on one state: set-up, raw readings, notes."},
	{"amendment", "A later note on a run: a reading struck out, a unit put right, with reason and date. The raw data never change; figures are computed from them with the amendments applied, and say so."},
	{"set-up", "The instruments of a run with their calibrations."},
	{"reading", "One number with its unit and time. A series is a table of readings."},
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
