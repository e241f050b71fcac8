// Package agc is the measurement of automatic gain control: how far the output
// follows the input once it has settled (static, from readings), and how it
// moves when the input moves (dynamic, from recordings of a stepped, a keyed
// and a slowly fading carrier).
//
// Words used here. The static curve is output in dB against input in dBm. The
// knee is where its local slope falls below 0.5 dB/dB. Attack is the time after
// a step up, recovery that after a step down, both from the step to within a
// criterion of the fitted final level. Input levels are the available power of
// the generator; of volts it must be said whether they are EMF or PD.
package agc

import (
	"setwright/internal/measure"
	"setwright/superhet"
)

// Method names the figures' method and version.
const Method = "agc/1"

// Measurement is the measurement of automatic gain control. The zero value is
// ready to use.
type Measurement struct{}

// About describes the measurement.
func (Measurement) About() measure.About {
	return measure.About{
		ID:         "agc",
		Title:      "Automatic gain control",
		Purpose:    "How level the set holds its output from a weak station to a strong one, and how fast and how calmly it does so.",
		Method:     Method,
		Columns:    columns,
		Recordings: recordings,
		Options:    options,
		Figures:    figures,
		Cautions:   cautions,
		Fair:       fair,
	}
}

var columns = []measure.ColumnSpec{
	{Role: "input", Title: "input level", Unit: "dBm", Units: []string{"dBµV", "V"}, Required: true,
		Aliases: []string{"in", "input", "level", "generator", "gen", "rf", "rf level", "attenuator", "signal"},
		Help:    "What the generator was set to, modulated 30 %: dBm, or volts or dBµV (say whether EMF or PD)."},
	{Role: "output", Title: "output", Unit: "dB", Units: []string{"V", "dBFS", "W", "dBV"}, Required: true,
		Aliases: []string{"out", "output", "audio", "af", "af output", "meter", "reading"},
		Help:    "Audio output once it has settled: on a decibel scale, in volts, watts or dBFS."},
}

var options = []measure.OptionSpec{
	{Name: "voltage_is", Title: "volts of the generator are", Choices: []string{superhet.EMF, superhet.PD},
		Help: "emf: open circuit; pd: across a matched load, half as much. Needed where levels are in volts or dBµV and do not say."},
	{Name: "source_resistance", Title: "source resistance", Unit: "Ω", Positive: true, Default: "50 Ω", Example: "75 Ω",
		Help: "Of the generator, for turning volts into dBm and back."},
	{Name: "spread_range", Title: "input range of the spread", Unit: "dBm", List: true, Default: "-107 dBm, -27 dBm", Example: "-100 dBm, -20 dBm",
		Help: "Two input levels between which the change of output is given."},
	{Name: "merit_reference", Title: "reference of the figure of merit", Unit: "V", Positive: true, Default: "0.1 V", Example: "50 mV",
		Help: "EMF from which the input is lowered; the highest level reached, where it lies below."},
	{Name: "merit_drop", Title: "fall of output for the figure of merit", Unit: "dB", Positive: true, Default: "10 dB", Example: "10 dB"},
	{Name: "slope_range", Title: "input range of the slope", Unit: "dBm", List: true, Example: "-80 dBm, -30 dBm",
		Help: "Two input levels. Default: from 10 dB above the knee to the highest level."},
	{Name: "reading_u", Title: "uncertainty of one output reading", Unit: "dB", Positive: true, Example: "0.3 dB",
		Help: "One standard uncertainty. Default: from repeated readings, else from the scatter, else 0.25 dB as of a needle read by eye."},
	{Name: "level_u", Title: "uncertainty of the generator's level", Unit: "dB", Positive: true, Example: "1 dB",
		Help: "One standard uncertainty, common to all levels, where no instrument of the run says it."},
	{Name: "step_u", Title: "uncertainty of one attenuator setting", Unit: "dB", Positive: true, Default: "0.3 dB", Example: "0.5 dB",
		Help: "One standard uncertainty of a setting against the others."},
	{Name: "criterion", Title: "criterion of attack and recovery", Unit: "dB", Positive: true, Default: "3 dB", Example: "2 dB",
		Help: "The time ends when the output stays within this of its final level."},
	{Name: "swing_u", Title: "uncertainty of the swing of a fading carrier", Unit: "%", Positive: true, Default: "5 %", Example: "2 %",
		Help: "One standard uncertainty, as a part of the swing; common practice for the depth scale of a generator, no source."},
	{Name: "band", Title: "audio band of the recordings", Unit: "Hz", List: true, Example: "300 Hz, 3 kHz",
		Help: "Lowest and highest frequency of what the output level is taken from. Default: all."},
	{Name: "modulation", Title: "modulation depth", Unit: "%", Positive: true, Default: "30 %", Example: "30 %", Condition: true, Help: "Of the generator, for the static curve."},
	{Name: "dial", Title: "dial frequency", Positive: true, Unit: "Hz", Example: "7.1 MHz", Condition: true, Help: "What the dial was set to."},
	{Name: "agc", Title: "AGC setting", Example: "fast", Condition: true, Help: "Position of the switch: on, fast, slow."},
	{Name: "bfo", Title: "BFO", Choices: []string{"off", "on"}, Condition: true},
	{Name: "gain_control", Title: "RF gain control", Example: "maximum", Condition: true},
	{Name: "filter", Title: "selectivity setting", Example: "wide", Condition: true},
	{Name: "dummy", Title: "dummy antenna", Example: "200 pF", Condition: true, Help: "What stands between generator and antenna terminal."},
}

var cautions = []measure.Caution{
	{Where: "before", Text: measure.CautionTerminals},
	{Where: "before", Text: measure.CautionLoad},
	{Where: "before", Text: measure.CautionTransmitter},
	{Where: "sound", Text: measure.CautionSoundInput},
}

var fair = []measure.FairSpec{
	{Name: "agc", Title: "the AGC setting", OfSet: true, Why: "Fast and slow are two circuits."},
	{Name: "bfo", Title: "the BFO", Why: "A BFO that reaches the detector works the AGC by itself."},
	{Name: "gain_control", Title: "the RF gain control", OfSet: true, Why: "It moves the whole curve."},
	{Name: "modulation", Title: "modulation depth", Unit: "%", Tolerance: 2, Limit: 20, Why: "Output goes with the depth, and an AGC that takes the peak with it."},
	{Name: "dial", Title: "dial setting", Unit: "Hz", Relative: true, Tolerance: 0.01, Limit: 0.1,
		Why: "Gain before the AGC differs from band to band."},
	{Name: "filter", Title: "the selectivity setting", OfSet: true, Why: "A narrow filter hides noise and slows the loop."},
	{Name: "dummy", Title: "the dummy antenna", Why: "It takes its share of the level."},
}
