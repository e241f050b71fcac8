// Package sensitivity is the measurement of how weak a signal a set can still
// bring out of its own noise: output with the signal against output without it,
// or SINAD, at several input levels.
//
// Words used here. "Over noise" is (S+N)/N in dB: output with the signal over
// output without it. In AM the signal is the modulation, so "without" is with
// the carrier on and the modulation off; in CW it is the carrier itself, with
// the beat oscillator on. SINAD is all of the output over what is not the tone.
// An input level is followed from the generator through pads to the EMF behind
// the dummy antenna, which is what a sensitivity is quoted in; dBm is the power
// available from there. The law is the curve of over noise, or SINAD, against
// input that the detector and the set's own noise make; see law.go.
package sensitivity

import (
	"setwright/internal/measure"
	"setwright/noise"
	"setwright/superhet"
)

// Method names the figures' method and version.
const Method = "sensitivity/1"

// Measurement is the measurement of sensitivity. The zero value is ready to use.
type Measurement struct{}

// About describes the measurement.
func (Measurement) About() measure.About {
	return measure.About{
		ID:         "sensitivity",
		Title:      "Sensitivity",
		Purpose:    "How weak a signal the set still brings out of its own noise, and whether more would be worth anything on your antenna.",
		Method:     Method,
		Columns:    columns,
		Typed:      []string{"input", "output_on", "output_off"},
		Recordings: recordings,
		Options:    options,
		Figures:    append(append([]measure.FigureSpec(nil), figures...), noiseFigureSpec, marginSpec),
		Cautions:   cautions,
		Fair:       fair,
	}
}

// outputUnits are those an output can be read in, beside volts.
var outputUnits = []string{"dB", "dBFS", "W", "dBV", "dBm"}

var columns = []measure.ColumnSpec{
	{Role: "input", Title: "input level", Unit: "dBm", Units: []string{"V", "dBµV"},
		Aliases: []string{"in", "input", "level", "generator", "gen", "rf", "rf level", "attenuator", "signal level"},
		Help:    "What the generator was set to: dBm, or volts or dBµV (say by the option whether EMF or PD)."},
	{Role: "output_on", Title: "output with signal", Unit: "V", Units: outputUnits,
		Aliases: []string{"on", "output on", "signal on", "with", "modulated", "mod on", "s+n", "output"},
		Help:    "Audio output with the modulation on (AM), or with the generator on (CW)."},
	{Role: "output_off", Title: "output without signal", Unit: "V", Units: outputUnits,
		Aliases: []string{"off", "output off", "signal off", "without", "unmodulated", "mod off", "noise", "n"},
		Help:    "Audio output with the carrier on and the modulation off (AM), or with the generator off (CW)."},
	{Role: "sinad", Title: "SINAD", Unit: "dB", Aliases: []string{"sinad", "sinad db"},
		Help: "As a SINAD meter shows it, in the place of the two outputs."},
	{Role: "output_antenna", Title: "noise on the antenna", Unit: "V", Units: outputUnits,
		Aliases: []string{"antenna", "aerial", "on antenna"},
		Help:    "Noise output with the antenna connected, on a clear frequency, AGC off."},
	{Role: "output_dummy", Title: "noise on the dummy", Unit: "V", Units: outputUnits,
		Aliases: []string{"dummy", "on dummy", "resistor"},
		Help:    "Noise output with the dummy antenna in its place, nothing else touched."},
}

var recordings = []measure.RecordingSpec{
	{Role: "output", Title: "receiver output", Many: true,
		Help: "Ten seconds or more of the output at each level, with the signal and without it, nothing else touched between. SINAD needs only the one with the signal.",
		Labels: []measure.OptionSpec{
			{Name: "input", Title: "input level", Example: "-107 dBm", Verify: isLevel, Help: "What the generator was set to; of volts say emf or pd."},
			{Name: "signal", Title: "signal", Choices: []string{"on", "off", "modulated", "unmodulated", "antenna", "dummy"}, Default: "on",
				Help: "on, off: the generator (CW); modulated, unmodulated (AM); antenna, dummy: noise with one in place of the other."},
		}},
}

var options = []measure.OptionSpec{
	{Name: "mode", Title: "mode", Choices: []string{"am", "cw", "sinad"}, Condition: true,
		Help: "am: modulation on and off; cw: generator on and off, BFO on; sinad: SINAD of a tone. Default: cw where the BFO is on, sinad where there is only SINAD, else am."},
	{Name: "dial", Title: "dial frequency", Positive: true, Unit: "Hz", Example: "7.1 MHz", Condition: true, Help: "What the dial was set to."},
	{Name: "modulation", Title: "modulation depth", Unit: "%", Positive: true, Default: "30 %", Example: "30 %", Condition: true, Help: "Of the generator. The figure is brought to 30 %."},
	{Name: "modulation_frequency", Title: "modulation frequency", Unit: "Hz", Positive: true, Default: "1 kHz", Example: "400 Hz", Condition: true},
	{Name: "modulation_u", Title: "uncertainty of the depth", Unit: "%", Default: "5 %", Example: "10 %",
		Help: "One standard uncertainty as a part of the depth itself. A twentieth is what a generator's meter keeps (common practice, no source)."},
	{Name: "agc", Title: "AGC setting", Example: "off", Condition: true, Help: "Position of the switch. Off is the rule; with AGC on the noise falls as the carrier rises."},
	{Name: "bfo", Title: "BFO", Choices: []string{"off", "on"}, Condition: true},
	{Name: "filter", Title: "selectivity setting", Example: "wide", Condition: true},
	{Name: "limiter", Title: "noise limiter", Example: "off", Condition: true},
	{Name: "gain_control", Title: "RF gain control", Example: "maximum", Condition: true},
	{Name: "bandwidth", Title: "nominal bandwidth", Unit: "Hz", Positive: true, Example: "6 kHz", Condition: true, Help: "As the set's papers or its knob say. Not used for the noise figure."},
	{Name: "noise_bandwidth", Title: "noise bandwidth", Unit: "Hz", Positive: true, Example: "5.2 kHz ± 0.2 kHz",
		Help: "As measured, before the detector; needed for the noise figure. Without ± it is taken to a tenth. Default: from a recording of the noise, if there is one."},
	{Name: "dummy", Title: "dummy antenna", Choices: superhet.DummyNames(), Default: "none", Condition: true,
		Help: "What stands between generator and antenna terminal: none; standard: 200 pF, then 20 µH across 400 pF and 400 Ω; 400: a resistor of 400 Ω."},
	{Name: "dummy_u", Title: "uncertainty of the dummy's parts", Unit: "%", Default: "3 %", Example: "5 %", Help: "One standard uncertainty of each part."},
	{Name: "pad", Title: "pad", Unit: "dB", Default: "0 dB", Example: "20 dB", Condition: true, Help: "Loss of pads between generator and dummy antenna."},
	{Name: "pad_u", Title: "uncertainty of the pad", Unit: "dB", Default: "0.2 dB", Example: "0.1 dB", Help: "One standard uncertainty; counts only where there is a pad."},
	{Name: "source_resistance", Title: "source resistance", Unit: "Ω", Positive: true, Default: "50 Ω", Example: "75 Ω", Help: "Of the generator."},
	{Name: "input_resistance", Title: "input resistance of the set", Unit: "Ω", Positive: true, Example: "400 Ω", Help: "Where known, for the voltage across the antenna terminals."},
	{Name: "voltage_is", Title: "volts of the generator are", Choices: []string{superhet.EMF, superhet.PD},
		Help: "emf: open circuit; pd: across a matched load, half as much. Needed where levels are in volts or dBµV."},
	{Name: "level_u", Title: "uncertainty of the generator's level", Unit: "dB", Positive: true, Default: "1 dB", Example: "0.5 dB",
		Help: "One standard uncertainty, common to levels near each other, where no instrument of the run says it."},
	{Name: "step_u", Title: "uncertainty of one attenuator setting", Unit: "dB", Default: "0.2 dB", Example: "0.1 dB", Help: "One standard uncertainty of a setting against the others."},
	{Name: "reading_u", Title: "uncertainty of one output reading", Unit: "dB", Positive: true, Example: "0.3 dB",
		Help: "One standard uncertainty. Default: from the scatter about the curve, where there is enough of it, else 0.25 dB as of a needle read by eye."},
	{Name: "meter", Title: "output meter", Choices: []string{"rms", "average"}, Default: "rms",
		Help: "average: one that averages and is marked in rms of a sine, as most moving-coil meters with a rectifier are. It reads noise 1.05 dB low; that is put right."},
	{Name: "surroundings", Title: "surroundings", Choices: noise.SurroundingsNames(), Example: "rural", Help: "Where the set is used: for the noise to be expected from outside, by ITU-R P.372."},
	{Name: "band", Title: "audio band of the recordings", Unit: "Hz", List: true, Example: "100 Hz, 4 kHz",
		Help: "Lowest and highest frequency of what the output level is taken from. Default: all."},
}
