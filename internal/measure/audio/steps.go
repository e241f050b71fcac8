package audio

import (
	"fmt"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// tonesHz is where to read the response: thirds of an octave would be better,
// but nobody reads thirty by hand; these are closest where sets fall off.
var tonesHz = []float64{1000, 400, 200, 150, 100, 70, 50, 1000, 1500, 2000, 2500, 3000, 3500, 4000, 5000, 6000, 8000, 1000}

// Next says what to do next: the reference first, down, and up, with the
// reference read again between to see whether the set kept still.
func (Measurement) Next(raw measure.Raw) measure.Step {
	n := 0
	if out := raw.Series.Column("output"); out != nil {
		n = len(out.Values)
	}
	of := len(tonesHz) + 1
	switch {
	case n == 0:
		return measure.Step{
			ID: "start", Number: 1, Of: of, Column: "output", Unit: "V", Caution: measure.CautionTerminals,
			Do:  "Load resistor on, set warm, generator on tune and strong enough to be free of noise, modulated 30 % at 1 kHz. Set the volume to a comfortable output and touch it no more. Type frequency and output.",
			Why: "Everything else is compared with this reading.",
		}
	case n < len(tonesHz):
		return measure.Step{
			ID: fmt.Sprintf("tone-%d", n+1), Number: n + 1, Of: of, Column: "output", Unit: "V",
			Do:      fmt.Sprintf("Modulate with %s at the same depth; type frequency and output.", hertz(tonesHz[n])),
			Why:     "1 kHz comes round again to show whether the set kept still.",
			Quality: quality(n),
		}
	}
	return measure.Step{
		ID: "done", Done: true, Number: of, Of: of, Quality: quality(n),
		Do: "Enough for the response. A recording at 1 kHz and one of the bare carrier give distortion and hum. Finish the run.",
	}
}

func quality(n int) string {
	switch {
	case n < 3:
		return fmt.Sprintf("%s: three make a response", plural(n, "reading", "readings"))
	case n < 8:
		return fmt.Sprintf("%d readings: the low end", n)
	}
	return fmt.Sprintf("%d readings: low end, and the high end as far as read", n)
}

// Card is the printed bench card: blanks to fill in by hand.
func (Measurement) Card(run.Setup) measure.Card {
	card := measure.Card{
		Before: []measure.CardLine{
			{Label: "Set, serial", Fact: measure.FactSet}, {Label: "State", Fact: measure.FactState},
			{Label: "Date", Fact: measure.FactDay}, {Label: "By", Fact: measure.FactOperator},
			{Label: "Load, ohms", Unit: "Ω", Option: "load"}, {Label: "Dial set to, with unit", Option: "dial"},
			{Label: "Selectivity", Option: "filter"}, {Label: "Tone control", Option: "tone"},
			{Label: "AGC", Option: "agc"}, {Label: "Noise limiter (off, on)", Option: "limiter"}, {Label: "BFO (off, on)", Option: "bfo"},
			{Label: "Generator, meter", Fact: measure.FactInstrument},
		},
		Steps: []measure.Step{
			{Do: "Find out at what potential the output terminals stand before anything is connected.", Caution: measure.CautionTerminals},
			{Do: "Load resistor across the output, loudspeaker off.", Caution: measure.CautionLoad},
			{Do: "Generator on tune, strong, modulated 30 % at 1 kHz. Set the volume and leave it."},
			{Do: "Read each frequency at the same depth; 1 kHz comes three times."},
			{Do: "For the power: 1 kHz, turn the volume up in steps, and write output and distortion of each.", Caution: cautions[2].Text},
		},
		Columns: columns, Rows: len(tonesHz) + 8,
	}
	for _, hz := range tonesHz {
		card.Planned = append(card.Planned, map[string]string{"frequency": hertz(hz)})
	}
	return card
}
