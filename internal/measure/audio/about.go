// Package audio is the measurement of what comes out at the audio terminals:
// response, distortion, SINAD, hum and power, from readings of a meter or from
// recordings; and how true a broadcast comes through the set, from a recording
// of the set's output and one of the programme that modulated the carrier.
//
// Words used here. The response is the output against the modulation frequency
// at constant depth, in dB from that at 1 kHz; its edges are where it is down by
// 6 dB. THD is the rms sum of the harmonics 2 to 10 that fall in the band over
// the fundamental. SINAD is (S+N+D)/(N+D). Hum is the rms sum of the line
// frequency and its multiples up to the tenth, below the output at 30 %
// modulation and 1 kHz.
package audio

import "setwright/internal/measure"

// Method names the figures' method and version.
const Method = "audio/1"

// Measurement is the audio measurement. The zero value is ready to use.
type Measurement struct{}

// About describes the measurement.
func (Measurement) About() measure.About {
	return measure.About{
		ID:         "audio",
		Title:      "Audio and fidelity",
		Purpose:    "What the set makes of the programme: how wide, how clean, how free of hum and how loud.",
		Method:     Method,
		Columns:    columns,
		Typed:      []string{"frequency", "output"},
		Recordings: recordings,
		Options:    options,
		Figures:    figures,
		Cautions:   cautions,
		Fair:       fair,
	}
}

var columns = []measure.ColumnSpec{
	{Role: "frequency", Title: "modulation frequency", Unit: "Hz",
		Aliases: []string{"f", "freq", "frequency", "tone", "af", "modulation frequency"},
		Help:    "What the carrier is modulated with, at constant depth."},
	{Role: "output", Title: "output", Unit: "V", Units: []string{"dB", "dBV", "dBFS", "W"}, Required: true,
		Aliases: []string{"out", "output", "audio", "af output", "meter", "reading", "volts"},
		Help:    "Audio output across the load: in volts, watts or on a decibel scale."},
	{Role: "distortion", Title: "distortion", Unit: "1", Bare: "%",
		Aliases: []string{"thd", "distortion", "d", "klirr"},
		Help:    "What a distortion meter shows at that output; for the power at a stated distortion."},
}

var options = []measure.OptionSpec{
	{Name: "reference", Title: "reference frequency", Unit: "Hz", Positive: true, Default: "1 kHz", Example: "400 Hz",
		Help: "From which the response is taken, and at which distortion is."},
	{Name: "edge", Title: "fall at the edges of the response", Unit: "dB", Positive: true, Default: "6 dB", Example: "3 dB"},
	{Name: "depth", Title: "depth of the reference output", Unit: "%", Positive: true, Default: "30 %", Example: "30 %",
		Help: "Hum is given below the output at this depth."},
	{Name: "thd_limit", Title: "distortion at which the power is given", Unit: "%", Positive: true, Default: "10 %", Example: "5 %"},
	{Name: "band", Title: "band of noise and harmonics", Unit: "Hz", List: true, Example: "20 Hz, 15 kHz",
		Help: "Lowest and highest frequency that counts. Default: 20 Hz to 0.45 of the sample rate."},
	{Name: "line", Title: "line frequency", Unit: "Hz", Positive: true, Example: "60 Hz", Help: "Default: found in the recording."},
	{Name: "source_thd", Title: "distortion of the generator's modulation", Unit: "%", Positive: true, Example: "1 %",
		Help: "As its handbook has it, or as measured. Without it distortion is given as a bound."},
	{Name: "reading_u", Title: "uncertainty of one output reading", Unit: "dB", Positive: true, Default: "0.2 dB", Example: "0.3 dB",
		Help: "One standard uncertainty of a reading against the others."},
	{Name: "load", Title: "load", Unit: "Ω", Positive: true, Example: "600 Ω", Condition: true, Help: "Resistor across the output. Needed for the power."},
	{Name: "dial", Title: "dial frequency", Positive: true, Unit: "Hz", Example: "1 MHz", Condition: true, Help: "What the dial was set to."},
	{Name: "filter", Title: "selectivity setting", Example: "wide", Condition: true},
	{Name: "tone", Title: "tone control", Example: "high", Condition: true},
	{Name: "agc", Title: "AGC setting", Example: "on", Condition: true},
	{Name: "limiter", Title: "noise limiter", Choices: []string{"off", "on"}, Condition: true},
	{Name: "bfo", Title: "BFO", Choices: []string{"off", "on"}, Condition: true},
}

var cautions = []measure.Caution{
	{Where: "before", Text: measure.CautionTerminals},
	{Where: "before", Text: measure.CautionLoad},
	{Where: "power", Text: "At full output the loudspeaker is loud and the load resistor hot. Take the loudspeaker off for the power, and give the resistor air."},
	{Where: "before", Text: measure.CautionTransmitter},
	{Where: "sound", Text: measure.CautionSoundInput},
	{Where: "sound", Text: "An earthed computer and an earthed set make a loop that hums by itself; a transformer in the audio line breaks it."},
}

var fair = []measure.FairSpec{
	{Name: "load", Title: "the load", Unit: "Ω", Relative: true, Tolerance: 0.05, Limit: 0.25, Why: "Power and distortion go with the load."},
	{Name: "filter", Title: "the selectivity setting", OfSet: true, Why: "The filter takes the high notes."},
	{Name: "tone", Title: "the tone control", OfSet: true, Why: "It is there to change the response."},
	{Name: "limiter", Title: "the noise limiter", OfSet: true, Why: "A limiter clips the peaks of strong modulation."},
	{Name: "agc", Title: "the AGC setting", OfSet: true, Why: "An AGC with short time constants eats the bass and distorts it."},
	{Name: "bfo", Title: "the BFO", Why: "With a BFO the tone is a beat, not the modulation."},
	{Name: "dial", Title: "dial setting", Unit: "Hz", Relative: true, Tolerance: 0.05, Limit: 0.5, Why: "Tuned circuits are narrower at the low end of a band."},
}
