package agc

import (
	"fmt"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// levelsDBm is where to set the generator, by 5 dB where the curve bends and by
// 10 dB where it does not.
var levelsDBm = []float64{-117, -112, -107, -102, -97, -92, -87, -82, -77, -67, -57, -47, -37, -27, -17, -13}

// Next says what to do next: warm set, then the levels of the bench card from
// the lowest to the highest, then down again as far as patience goes.
func (Measurement) Next(raw measure.Raw) measure.Step {
	in := raw.Series.Column("input")
	n := 0
	if in != nil {
		n = len(in.Values)
	}
	of := len(levelsDBm) + 1
	switch {
	case n == 0:
		return measure.Step{
			ID: "start", Number: 1, Of: of, Column: "output", Unit: "dB", Caution: measure.CautionTerminals,
			Do:  fmt.Sprintf("Set warm for half an hour, AGC on, RF gain at maximum, generator on tune and modulated 30 %%. Set %s dBm and turn the volume until the meter reads well above its zero; touch the volume no more. Type level and reading.", short(levelsDBm[0])),
			Why: "Every later reading is compared with this setting of the volume.",
		}
	case n < len(levelsDBm):
		return measure.Step{
			ID: fmt.Sprintf("level-%d", n+1), Number: n + 1, Of: of, Column: "output", Unit: "dB", WaitS: 5,
			Do:      fmt.Sprintf("Set %s dBm, count to five, read the output; type level and reading.", short(levelsDBm[n])),
			Why:     "A slow AGC needs seconds to settle after a step down.",
			Quality: quality(n),
		}
	}
	return measure.Step{
		ID: "done", Done: true, Number: of, Of: of, Quality: quality(n),
		Do: "Enough. Three levels read once more show how well a reading repeats. Then finish the run.",
	}
}

// quality says what the readings so far are good for.
func quality(n int) string {
	switch {
	case n < leastLevels:
		return fmt.Sprintf("%s: %d more for a curve", plural(n, "level", "levels"), leastLevels-n)
	case n < len(levelsDBm):
		return fmt.Sprintf("%s: a curve up to the last of them", plural(n, "level", "levels"))
	}
	return plural(n, "level", "levels") + ": the whole curve"
}

// Card is the printed bench card: blanks to fill in by hand.
func (Measurement) Card(run.Setup) measure.Card {
	return measure.Card{
		Before: []measure.CardLine{
			{Label: "Set, serial", Fact: measure.FactSet}, {Label: "State", Fact: measure.FactState},
			{Label: "Date", Fact: measure.FactDay}, {Label: "By", Fact: measure.FactOperator},
			{Label: "Dial set to, with unit", Option: "dial"}, {Label: "AGC switch", Option: "agc"},
			{Label: "BFO (off, on)", Option: "bfo"}, {Label: "RF gain control", Option: "gain_control"},
			{Label: "Selectivity", Option: "filter"}, {Label: "Modulation, %", Unit: "%", Option: "modulation"},
			{Label: "Dummy antenna", Option: "dummy"}, {Label: "Volts of the generator are (emf, pd)", Option: "voltage_is"},
			{Label: "Generator, output meter", Fact: measure.FactInstrument},
		},
		Steps: []measure.Step{
			{Do: "Find out at what potential the output and antenna terminals stand before anything is connected.", Caution: measure.CautionTerminals},
			{Do: "Load resistor on the output, loudspeaker off. Set warm for half an hour.", Caution: measure.CautionLoad},
			{Do: "AGC on, RF gain at maximum, generator on tune, modulated 30 % at 1 kHz.", Caution: measure.CautionTransmitter},
			{Do: "Lowest level first: set the volume so that the meter reads well, then leave it alone."},
			{Do: "Each level: set it, count to five, read."},
			{Do: "At the end read three of the levels again, and write them below."},
			{Do: "Where the generator must be touched up in tune, do it at a weak level and write that you did."},
		},
		Columns: columns, Planned: plannedLevels(), Rows: len(levelsDBm) + 4,
	}
}

func plannedLevels() []map[string]string {
	var out []map[string]string
	for _, l := range levelsDBm {
		out = append(out, map[string]string{"input": short(l) + " dBm"})
	}
	return out
}
