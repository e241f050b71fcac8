// Package selectivity is the measurement of a receiver's passband: from a
// carrier stepped through it, or from the noise that comes through it. Its
// figures are defined in the specs below; the shape of the curve is found by
// package passband.
package selectivity

import "setwright/internal/measure"

// Method names the figures' method and version.
const Method = "selectivity/1"

// Measurement is the selectivity measurement. The zero value is ready to use.
type Measurement struct{}

// About describes the measurement.
func (Measurement) About() measure.About {
	return measure.About{
		ID:         "selectivity",
		Title:      "Selectivity",
		Purpose:    "How wide the receiver's passband is, how steeply it falls off, and where it lies.",
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
	{Role: "frequency", Title: "generator frequency", Unit: "Hz",
		Aliases: []string{"f", "freq", "frequency", "generator", "carrier"},
		Help:    "Frequency of the generator. Or give the offset."},
	{Role: "offset", Title: "offset", Unit: "Hz",
		Aliases: []string{"offset", "detuning", "detune", "df", "off", "delta"},
		Help:    "Generator frequency less the frequency the set is tuned to."},
	{Role: "input", Title: "input level", Unit: "dBm", Units: []string{"dBµV", "dBV", "dB", "V"},
		Aliases: []string{"input", "level", "in", "rf", "generator level", "gen level", "needed", "attenuation"},
		Help:    "Level of the generator. For constant output: what was needed for the same reading."},
	{Role: "output", Title: "output", Unit: "dB", Units: []string{"V", "W", "dBm", "dBV", "dBµV", "dBFS"},
		Aliases: []string{"output", "out", "audio", "af", "meter", "detector", "response", "gain"},
		Help:    "Output of the set, or of its detector. For constant input."},
	{Role: "time", Title: "time", Unit: "s",
		Aliases: []string{"time", "t", "clock"},
		Help:    "When it was read; not needed."},
}

var recordings = []measure.RecordingSpec{{
	Role: "noise", Title: "noise through the set", Many: true,
	Help: "No signal, antenna off or dummy on, gain high, AGC off, BFO on and set well to one side, so that the whole passband is heard as a band of hiss; two minutes or more. A further recording of the same with the IF gain down shows what the audio stages and the sound input add.",
	Labels: []measure.OptionSpec{
		{Name: "part", Title: "what it holds", Default: partPassband, Choices: []string{partPassband, partFloor},
			Help: "passband: the noise through the set; floor: the same with the gain before the detector down."},
	},
}}

const partPassband, partFloor = "passband", "floor"

var options = []measure.OptionSpec{
	{Name: "method", Title: "method", Choices: []string{methodOutput, methodInput, methodNoise},
		Help: "constant_output: the generator is raised until the output is the same; constant_input: the output is read; noise: a recording. Default: what the data show."},
	{Name: "nominal", Title: "nominal frequency", Unit: "Hz", Example: "612 kHz",
		Help: "Where the middle of the passband should lie: the intermediate frequency, the crystal, or the frequency the dial is set to. With offsets: 0."},
	{Name: "where", Title: "where the signal went in", Choices: []string{"if", "signal"}, Condition: true,
		Help: "if: at the mixer or an IF stage; signal: at the antenna terminals."},
	{Name: "filter", Title: "selectivity setting", Example: "sharp", Condition: true, Help: "Which filter or switch position."},
	{Name: "agc", Title: "AGC", Choices: []string{"off", "on"}, Condition: true, Help: "Off for this measurement, where the set can."},
	{Name: "limiter", Title: "noise limiter", Choices: []string{"off", "on"}, Condition: true, Help: "Off for this measurement."},
	{Name: "dial", Title: "dial frequency", Positive: true, Unit: "Hz", Example: "7.9 MHz", Condition: true, Help: "What the dial was set to."},
	{Name: "attenuator", Title: "error of level steps", Positive: true, Unit: "1", Default: "1 %", Example: "2 %",
		Help: "One standard uncertainty of a difference of two generator levels, as a fraction of its decibels."},
	{Name: "detector", Title: "law of the detector", Choices: []string{"linear", "square"}, Default: "linear",
		Help: "How output goes with input, for readings of the output: linear for a diode well driven or a product detector, square for a diode near its bend."},
	{Name: "detector_u", Title: "error of that law", Positive: true, Unit: "1", Default: "3 %", Example: "5 %",
		Help: "One standard uncertainty of a difference of two outputs, as a fraction of its decibels."},
	{Name: "floor", Title: "output with the generator off", Example: "12 mV",
		Help: "In the unit of the output; its power is taken off every output."},
	{Name: "detection", Title: "how the noise was detected", Choices: []string{"bfo", "if", "am"}, Condition: true,
		Help: "bfo: with BFO or product detector; if: the IF itself, or shifted down; am: by the AM detector, which does not show the passband."},
	{Name: "bfo_offset", Title: "BFO offset", Unit: "Hz", Example: "+3.2 kHz",
		Help: "BFO frequency less the nominal middle of the passband, while the noise was recorded; for noise of the IF itself, what was taken off its frequency less the nominal."},
	{Name: "bfo_offset_u", Title: "uncertainty of that offset", Positive: true, Unit: "Hz", Default: "30 Hz", Example: "5 Hz",
		Help: "One standard uncertainty."},
	{Name: "bfo_side", Title: "side of the BFO", Choices: []string{"above", "below"},
		Help: "On which side of the passband the BFO stood; taken from the offset where that is given."},
	{Name: "audio_from", Title: "lowest audio frequency", Positive: true, Unit: "Hz", Default: "60 Hz", Example: "100 Hz", Help: "Noise below is left out."},
	{Name: "audio_to", Title: "highest audio frequency", Positive: true, Unit: "Hz", Example: "8 kHz", Help: "Noise above is left out. Default: 0.45 of the sample rate."},
}

const methodOutput, methodInput, methodNoise = "constant_output", "constant_input", "noise"

// Sources of the amounts: where nothing else is named, common practice among
// listeners and restorers, no source.
var figures = []measure.FigureSpec{
	{ID: "bandwidth_6", Title: "bandwidth at −6 dB", Unit: "Hz",
		Matters: 0.1, Relative: true, Why: "a tenth of the width is about the least that changes what is heard", Spread: 0.02, SpreadRelative: true,
		Help: "Distance of the outermost frequencies at which the response is 6 dB below its maximum."},
	{ID: "bandwidth_60", Title: "bandwidth at −60 dB", Unit: "Hz", Better: "smaller",
		Matters: 0.1, Relative: true, Why: "a tenth of the width is about the least that lets a station through or keeps it out", Spread: 0.02, SpreadRelative: true,
		Help: "Distance of the outermost frequencies at which the response is 60 dB below its maximum."},
	{ID: "shape_factor", Title: "shape factor", Unit: "1", Better: "smaller",
		Matters: 0.1, Relative: true, Why: "about what one more tuned circuit among six brings", Spread: 0.03, SpreadRelative: true,
		Help: "Bandwidth at −60 dB over that at −6 dB; 1 would be a perfect rectangle."},
	{ID: "noise_bandwidth", Title: "noise bandwidth", Unit: "Hz",
		Matters: 0.12, Relative: true, Why: "an eighth is half a decibel of noise", Spread: 0.02, SpreadRelative: true,
		Help: "Integral of the power response over its maximum: the width of a rectangle that lets the same noise through."},
	{ID: "centre_offset", Title: "centre offset", Unit: "Hz", Better: "smaller", Magnitude: true,
		Matters: 100, Why: "100 Hz off the middle begins to be heard on one sideband of speech", Spread: 30,
		Help: "Middle of the −6 dB points less the nominal frequency."},
	{ID: "skew", Title: "skew", Unit: "1", By: []string{"down_db"}, Better: "smaller", Magnitude: true,
		Matters: 0.05, Why: "a twentieth is what careful alignment leaves", Spread: 0.02,
		Help: "Upper less lower half-width over their sum, 6 or 60 dB down; the half-widths are taken from the middle of the points 1 dB down."},
	{ID: "ripple", Title: "ripple", Unit: "dB", Better: "smaller",
		Matters: 1, Why: "a decibel is about the least that is heard", Spread: 0.2,
		Help: "Largest depth of a valley between the −6 dB points below the lower of the peaks on either side; 0 for one hump."},
	{ID: "notch_depth", Title: "notch depth", Unit: "dB", Better: "larger",
		Matters: 3, Why: "3 dB less of a whistle is noticed, hardly less", Spread: 2,
		Help: "How far the vertex of the deepest notch lies below the maximum of the response."},
	{ID: "notch_offset", Title: "notch offset", Unit: "Hz",
		Matters: 50, Why: "50 Hz is about how well a phasing control is set by ear", Spread: 30,
		Help: "Frequency of that notch less the middle of the points 1 dB down."},
}

var cautions = []measure.Caution{
	{Where: "before", Text: "The chassis carries lethal voltage while it is on and for a while after. Feed the generator in through a capacitor rated for the HT; keep one hand off the chassis."},
	{Where: "before", Text: measure.CautionLiveChassis},
	{Where: "signal", Text: "Take a level so small that nothing limits, and turn AGC off: an AGC that works makes a passband look wider than it is, unless the output is held constant."},
	{Where: "before", Text: measure.CautionTransmitter},
	{Where: "sound", Text: measure.CautionTerminals},
	{Where: "sound", Text: measure.CautionSoundInput},
	{Where: "sound", Text: "With the loudspeaker on, noise at full gain is loud: turn down or load the output before the headphones go on."},
}

var fair = []measure.FairSpec{
	{Name: "filter", Title: "the selectivity setting", OfSet: true, Why: "Another setting is another passband."},
	{Name: "where", Title: "where the signal went in", Why: "From the antenna, the signal circuits take part; from the mixer, only the IF does."},
	{Name: "agc", Title: "AGC", Why: "AGC flattens what is read of a passband."},
	{Name: "dial", Title: "dial setting", Unit: "Hz", Relative: true, Tolerance: 0.05, Limit: 0.5,
		Why: "On the lower bands the signal circuits narrow the passband."},
}
