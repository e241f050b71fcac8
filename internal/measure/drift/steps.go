package drift

import (
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// readAtMin is when to read, in minutes from power-on: close together while
// the set moves fast, wider apart as it slows. Two hours see the slow part of
// nearly every chassis (time constants of half an hour and more).
var readAtMin = []float64{
	1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 21, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90, 100, 110, 115, 120,
}

// Next says what to do next: cold start, then readings at the times of the
// bench card, until two hours are over.
func (Measurement) Next(raw measure.Raw) measure.Step {
	if fromRecording(raw) {
		return measure.Step{ID: "done", Done: true, Number: 1, Of: 1, Do: "Enough. Finish the run; note line volts and room temperature now."}
	}
	times := raw.Series.Column("time")
	if times == nil || len(times.Values) == 0 {
		return measure.Step{
			ID: "start", Number: 1, Of: len(readAtMin) + 1,
			Do:      "With the set cold, dial set and counter coupled: switch on, note the moment, and take the first reading as soon as the counter shows one.",
			Why:     "The first minutes hold most of the movement. Without a counter: record the beat note instead.",
			Column:  "frequency",
			Caution: cautions[1].Text,
		}
	}
	last := times.Values[len(times.Values)-1]
	for i, minute := range readAtMin {
		if due := minute * 60; due > last+15 {
			return measure.Step{
				ID: fmt.Sprintf("read-%d", i+1), Number: i + 2, Of: len(readAtMin) + 1,
				Do:     "Read the counter and type what it shows.",
				Why:    "Touch nothing else: a hand near the coil is a reading spoilt.",
				Column: "frequency", WaitS: due - last, Quality: quality(len(times.Values), last),
			}
		}
	}
	return measure.Step{
		ID: "done", Done: true, Number: len(readAtMin) + 1, Of: len(readAtMin) + 1,
		Do: "Enough. Finish the run; note line volts and room temperature now.", Quality: quality(len(times.Values), last),
	}
}

// quality says what the readings so far are good for.
func quality(n int, lastS float64) string {
	switch {
	case n < 12:
		return fmt.Sprintf("%d readings: intervals and bounds so far; %d more for fitted figures", n, 12-n)
	case lastS < 3600:
		return fmt.Sprintf("%d readings over %.0f min: enough to fit; settling shows after an hour or more", n, math.Floor(lastS/60))
	}
	return fmt.Sprintf("%d readings over %.0f min", n, math.Floor(lastS/60))
}

// Card is the printed bench card: blanks to fill in by hand.
func (Measurement) Card(run.Setup) measure.Card {
	card := measure.Card{
		Before: []measure.CardLine{
			{Label: "Set, serial", Fact: measure.FactSet}, {Label: "State", Fact: measure.FactState},
			{Label: "Date", Fact: measure.FactDay}, {Label: "By", Fact: measure.FactOperator},
			{Label: "Time off before, hours", Unit: "h", Option: "off_time"},
			{Label: "Oscillator watched (local, bfo, set)", Option: "oscillator"},
			{Label: "Band", Option: "band"}, {Label: "Dial set to, with unit", Option: "dial"},
			{Label: "Room at start, °C", Unit: "°C", Option: "ambient"},
			{Label: "Line, V", Unit: "V", Option: "line_voltage"},
			{Label: "Counter, gate", Fact: measure.FactInstrument}, {Label: "Switched on at (h:m:s)", Fact: measure.FactClock},
		},
		Steps: []measure.Step{
			{Do: "Set cold: off for six hours at least, overnight is better. Covers on."},
			{Do: "Couple the counter loosely and leave it so. Set the dial and touch it no more.", Caution: cautions[1].Text},
			{Do: "Switch on by the clock. Read the counter at the minutes printed, or note the minute you did."},
			{Do: "A reading you doubt: strike it through, do not rub it out. Write the next."},
			{Do: "Note anything that happened: a knock, a door, another set switched on."},
		},
		Columns: []measure.ColumnSpec{columns[0], columns[1], columns[2], columns[3]},
	}
	for _, m := range readAtMin {
		card.AtS = append(card.AtS, 60*m)
	}
	return card
}
