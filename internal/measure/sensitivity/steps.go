package sensitivity

import (
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// firstDBm is the level that the first reading is taken at.
const firstDBm = -100.0

// Next says what to do next. It brackets each level that is looked for, goes
// back to a reading that stands off the curve, and reads the main one again.
func (m Measurement) Next(raw measure.Raw) measure.Step {
	w, err := begin(raw)
	if err != nil {
		return measure.Step{ID: "options", Number: 1, Do: "Put the options of the run right: " + err.Error() + ".", Column: "input"}
	}
	points, err := w.typedPoints()
	if err != nil {
		return measure.Step{ID: "options", Number: 1, Do: "Put the run right: " + err.Error() + ".", Column: "input"}
	}
	w.points = points
	s := w.next()
	s.Number, s.Column, s.Unit = len(points)+1, "input", "dBm"
	if s.Quality == "" {
		s.Quality = quality(points)
	}
	return s
}

// next is the step without what all steps have.
func (w *work) next() measure.Step {
	if len(w.points) == 0 {
		return measure.Step{ID: "start", Caution: measure.CautionTerminals,
			Do:  fmt.Sprintf("Set warm for half an hour, AGC off, RF gain at maximum, %s. Set %s. %s", preparation(w.set.mode), w.dial(firstDBm), w.readWords()),
			Why: "Volume once set is not touched again: every ratio is of two outputs at one gain."}
	}
	for _, t := range targets(w.set.mode) {
		if dbm, why, ok := w.bracket(t); ok {
			return measure.Step{ID: "bracket-" + t.id, Why: why, Do: fmt.Sprintf("Set %s. %s", w.dial(dbm), w.readWords())}
		}
	}
	w.fits = choose(candidates(w.set), w.points, w.set.stepU, w.readingKnown())
	if p, ok := w.doubtful(); ok {
		return measure.Step{ID: "repeat-doubtful", Do: fmt.Sprintf("Set %s once more. %s", w.dial(p.dBm), w.readWords()),
			Why: fmt.Sprintf("The reading of %s there stands off the curve of the others.", told(p.ratio, "dB"))}
	}
	if dbm, ok := w.repeat(); ok {
		return measure.Step{ID: "repeat", Do: fmt.Sprintf("Turn the attenuator away and set %s again. %s", w.dial(dbm), w.readWords()),
			Why: "A second reading near the level that counts shows how well it repeats."}
	}
	return measure.Step{ID: "done", Done: true, Do: "Enough. Note dummy antenna, pad, filter and bandwidth, and finish the run. For the antenna: noise on the antenna and on the dummy, three times in turn."}
}

// preparation is how the generator stands.
func preparation(mode string) string {
	switch mode {
	case modeCW:
		return "BFO on, generator on tune without modulation, beat at 1 kHz"
	case modeSINAD:
		return "generator on tune, modulated 30 % at 1 kHz, SINAD meter on the output"
	}
	return "BFO off, generator on tune, modulated 30 % at 1 kHz"
}

// readWords is how a pair is read.
func (w *work) readWords() string {
	switch w.set.mode {
	case modeCW:
		return "Read the output; switch the generator off and read again. Type level, with, without."
	case modeSINAD:
		return "Read the SINAD and note it with the level."
	}
	return "Read the output; switch the modulation off, the carrier left on, and read again. Type level, with, without."
}

// dial is a level as the generator's dial has it: the pad added.
func (w *work) dial(dbm float64) string {
	return quantity.FormatNumber(math.Round(dbm+w.set.padDB), "dBm")
}

// bracketDB is how near to a target readings on both sides must lie.
const bracketDB = 5.0

// bracket is the level to read next so that readings lie on both sides of a
// target; ok is false where they do already.
func (w *work) bracket(t target) (dbm float64, why string, ok bool) {
	below, above := math.NaN(), math.NaN()
	near := w.points[0]
	for _, p := range w.points {
		if d := p.ratio - t.dB; d < 0 && d >= -bracketDB {
			below = p.dBm
		} else if d >= 0 && d <= bracketDB {
			above = p.dBm
		}
		if math.Abs(p.ratio-t.dB) < math.Abs(near.ratio-t.dB) {
			near = p
		}
	}
	if !math.IsNaN(below) && !math.IsNaN(above) {
		return 0, "", false
	}
	if len(w.points) >= 12 {
		return 0, "", false // it does not come to pass: a ceiling, or a leak
	}
	aim := t.dB + 1.5
	if math.IsNaN(below) && (!math.IsNaN(above) || near.ratio > t.dB) {
		aim = math.Max(t.dB-1.5, 1.5)
	}
	return near.dBm + change(near.ratio, aim), fmt.Sprintf("It should bring about %s: readings on both sides of %s fix the level.", told(aim, "dB"), told(t.dB, "dB")), true
}

// change is by how much to change the level so that a ratio becomes another, by
// the linear law; a reading lost in the noise only says that it is far off.
func change(have, want float64) float64 {
	signal := func(r float64) float64 { return 10 * math.Log10(math.Max(math.Expm1(r/10*math.Ln10), 0.1)) }
	return math.Max(-20, math.Min(20, math.Round(signal(want)-signal(have))))
}

// doubtful is a reading that stands off the curve and was not repeated.
func (w *work) doubtful() (point, bool) {
	if len(w.fits) == 0 || len(w.points) < 4 {
		return point{}, false
	}
	best := w.fits[0]
	for _, p := range w.points {
		u := math.Max(best.scale, 1) * math.Hypot(p.u, w.set.stepU)
		off := math.Abs(p.ratio - best.at(p.dBm, best.params))
		if off > math.Max(2.5*u, 1) && w.readAt(p.dBm) < 2 {
			return p, true
		}
	}
	return point{}, false
}

// readAt counts the readings within half a decibel of a level.
func (w *work) readAt(dbm float64) int {
	n := 0
	for _, p := range w.points {
		if math.Abs(p.dBm-dbm) < 0.5 {
			n++
		}
	}
	return n
}

// repeat is the level of the reading nearest to the main target, if it was read
// but once or the run has fewer than five readings.
func (w *work) repeat() (dbm float64, ok bool) {
	t := targets(w.set.mode)[0]
	near := w.points[0]
	for _, p := range w.points {
		if math.Abs(p.ratio-t.dB) < math.Abs(near.ratio-t.dB) {
			near = p
		}
	}
	return near.dBm, w.readAt(near.dBm) < 2 || len(w.points) < 5
}

// quality says what the readings so far are good for.
func quality(points []point) string {
	switch n := len(points); {
	case n == 0:
		return ""
	case n < 3:
		return count(n, "reading", "readings") + ": the law is assumed, not seen"
	case n < 5:
		return count(n, "reading", "readings") + ": enough for a level, not for its scatter"
	}
	return count(len(points), "reading", "readings")
}

// cardDBm is what is printed on the card already.
var cardDBm = []float64{-120, -115, -110, -105, -100, -95, -90}

// Card is the printed bench card: blanks to fill in by hand.
func (Measurement) Card(run.Setup) measure.Card {
	card := measure.Card{
		Before: []measure.CardLine{
			{Label: "Set, serial", Fact: measure.FactSet}, {Label: "State", Fact: measure.FactState},
			{Label: "Date", Fact: measure.FactDay}, {Label: "By", Fact: measure.FactOperator},
			{Label: "Mode (am, cw, sinad)", Option: "mode"}, {Label: "Dial set to, with unit", Option: "dial"},
			{Label: "Modulation, %", Unit: "%", Option: "modulation"}, {Label: "Modulated at, with unit", Unit: "Hz", Option: "modulation_frequency"},
			{Label: "AGC (off)", Option: "agc"}, {Label: "Volts of the generator are (emf, pd)", Option: "voltage_is"},
			{Label: "BFO (off, on)", Option: "bfo"}, {Label: "Selectivity", Option: "filter"},
			{Label: "Noise limiter", Option: "limiter"}, {Label: "RF gain control", Option: "gain_control"},
			{Label: "Dummy antenna (none, standard, 400)", Option: "dummy"}, {Label: "Pad, dB", Unit: "dB", Option: "pad"},
			{Label: "Generator, output meter", Fact: measure.FactInstrument},
		},
		Steps: []measure.Step{
			{Do: "Find out at what potential the output and antenna terminals stand before anything is connected.", Caution: measure.CautionTerminals},
			{Do: "Load resistor on the output, loudspeaker off. Set warm for half an hour, AGC off, limiter off, RF gain at maximum.", Caution: measure.CautionLoad},
			{Do: "Generator through its dummy antenna, on tune. Before anything else: attenuator right down, tune across it. If it is still heard, it leaks.", Caution: measure.CautionTransmitter},
			{Do: "At each level: output with the signal (AM: modulated 30 % at 1 kHz; CW: generator on, BFO on), then without (AM: carrier left on, modulation off; CW: generator off)."},
			{Do: "Set levels of your own until two readings lie on either side of 10 dB (CW: of 3 dB as well). Read the nearest one again."},
			{Do: "A reading you doubt: strike it through, do not rub it out. Write the next."},
			{Do: "At the end, on a clear frequency: noise on the antenna and on the dummy in turn, three times.", Caution: measure.CautionThunder},
		},
		Columns: []measure.ColumnSpec{columns[0], columns[1], columns[2], columns[4], columns[5]},
		Rows:    len(cardDBm) + 8,
	}
	for _, l := range cardDBm {
		card.Planned = append(card.Planned, map[string]string{"input": quantity.FormatNumber(l, "dBm")})
	}
	return card
}
