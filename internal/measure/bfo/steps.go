package bfo

import (
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// Next says what to read next: both ends twice, then the middle for the drift.
func (Measurement) Next(raw measure.Raw) measure.Step {
	role := "frequency"
	if raw.Series.Column("beat") != nil && raw.Series.Column("frequency") == nil {
		role = "beat"
	}
	steps := []measure.Step{
		{ID: "low", Do: "Set a carrier to the middle of the passband. Turn the BFO control to the end of its lowest frequency and type what the counter shows, or the beat with a minus sign.",
			Why: "The reach to both sides decides which sidebands can be copied.", Caution: cautions[0].Text},
		{ID: "high", Do: "Turn the control to the other end and type the reading.", Why: "The other end of the reach."},
		{ID: "low-again", Do: "Back to the first end, and type the reading once more.", Why: "Coming back shows how well the control returns and what drift does meanwhile."},
		{ID: "high-again", Do: "And the other end once more.", Why: "Two readings at each end give the scatter."},
	}
	n := 0
	if c := raw.Series.Column(role); c != nil {
		for _, v := range c.Values {
			if !math.IsNaN(v) {
				n++
			}
		}
	}
	if n < len(steps) {
		s := steps[n]
		s.Column, s.Unit, s.Number, s.Of = role, "Hz", n+1, len(steps)
		return s
	}
	return measure.Step{ID: "done", Done: true, Number: len(steps), Of: len(steps),
		Do:      "Enough for the reach. Finish the run. For the drift, make another run with the control untouched: a reading a minute for half an hour, or a recording of the beat.",
		Quality: "both ends read twice"}
}

// Card is the printed bench card.
func (Measurement) Card(run.Setup) measure.Card {
	return measure.Card{
		Before: []measure.CardLine{
			{Label: "Set, serial", Fact: measure.FactSet}, {Label: "State", Fact: measure.FactState},
			{Label: "Date", Fact: measure.FactDay}, {Label: "By", Fact: measure.FactOperator},
			{Label: "On since, minutes", Unit: "min", Option: "time_on"},
			{Label: "Middle of the passband, with unit", Unit: "kHz", Option: "centre"},
			{Label: "Control (variable, fixed)", Option: "control"},
			{Label: "Oscillator against signal (high, low)", Option: "injection"},
			{Label: "Frequency goes with the scale (up, down)", Option: "direction"},
			{Label: "Counter", Fact: measure.FactInstrument},
		},
		Steps: []measure.Step{
			{Do: "Let the set warm up for half an hour. Set a carrier to the middle of the passband; AGC off.", Caution: cautions[0].Text},
			{Do: "Couple the counter loosely to the BFO, or take the beat's pitch.", Caution: cautions[1].Text},
			{Do: "Control to the end of the lowest frequency; write position and reading. Then the other end. Then both again."},
			{Do: "For the drift leave the control alone and write time and reading every minute for half an hour."},
		},
		Columns: []measure.ColumnSpec{columns[3], columns[2], columns[0]}, Rows: 34,
	}
}
