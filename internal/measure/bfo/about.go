// Package bfo is the measurement of a beat oscillator: how far its control
// reaches about the middle of the passband, how it drifts, and which kinds of
// signal can be copied with it and how it and the dial must then be set.
package bfo

import "setwright/internal/measure"

// Method names the figures' method and version.
const Method = "bfo/1"

// Measurement is the BFO measurement. The zero value is ready to use.
type Measurement struct{}

// About describes the measurement.
func (Measurement) About() measure.About {
	return measure.About{
		ID:         "bfo",
		Title:      "Beat oscillator",
		Purpose:    "How far the BFO reaches to both sides of the passband, how steady it is, and how to set it for each kind of signal.",
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
	{Role: "frequency", Title: "BFO frequency", Unit: "Hz",
		Aliases: []string{"f", "freq", "frequency", "counter", "bfo", "reading"},
		Help:    "What a counter shows that is coupled to the BFO."},
	{Role: "beat", Title: "beat note", Unit: "Hz",
		Aliases: []string{"beat", "note", "tone", "pitch", "audio"},
		Help:    "Pitch of a carrier that stands in the middle of the passband; with a minus sign where the BFO is below it."},
	{Role: "position", Title: "position of the control", Unit: "1",
		Aliases: []string{"position", "control", "knob", "scale", "setting", "mark"},
		Help:    "What the BFO's own scale shows."},
	{Role: "time", Title: "time", Unit: "s",
		Aliases: []string{"time", "t", "clock", "elapsed"},
		Help:    "For its drift: when it was read, the control untouched."},
}

var recordings = []measure.RecordingSpec{{
	Role: "beat", Title: "beat note", Many: true,
	Help: "Audio of a steady carrier in the middle of the passband beating with the BFO: one at each end of the control, and one of some minutes with the control untouched for its drift.",
	Labels: []measure.OptionSpec{
		{Name: "end", Title: "where the control stood", Choices: []string{endLow, endHigh, endSteady}, Default: endSteady,
			Help: "low: at the end of the lowest frequency; high: at the other; steady: left where it was, or fixed."},
		{Name: "side", Title: "side of the BFO", Choices: []string{"below", "above"},
			Help: "Of the carrier. Default: below at the low end, above else."},
	},
}}

const endLow, endHigh, endSteady = "low", "high", "steady"

var options = []measure.OptionSpec{
	{Name: "centre", Title: "middle of the passband", Positive: true, Unit: "Hz", Example: "611.7 kHz",
		Help: "As measured; for readings of a counter. Default: the set's intermediate frequency."},
	{Name: "centre_u", Title: "uncertainty of that middle", Positive: true, Unit: "Hz", Default: "100 Hz", Example: "20 Hz",
		Help: "One standard uncertainty: of the middle, or of how well the carrier was set to it."},
	{Name: "control", Title: "control of the BFO", Choices: []string{"variable", "fixed"},
		Help: "Default: variable where readings show two ends."},
	{Name: "direction", Title: "direction of the control", Choices: []string{"up", "down"}, Default: "up",
		Help: "Whether the BFO's frequency rises with its scale; asked only for beats without signs."},
	{Name: "injection", Title: "oscillator against signal", Choices: []string{"high", "low"},
		Help: "high: the oscillator runs above the signal, which turns the sidebands round; with several conversions: an odd number of them do. low: none or an even number."},
	{Name: "passband_low", Title: "lower edge of the passband", Unit: "Hz", Example: "-1.3 kHz",
		Help: "Where it is 6 dB down, from its middle or the nominal frequency; from a selectivity run."},
	{Name: "passband_high", Title: "upper edge of the passband", Unit: "Hz", Example: "+1.2 kHz", Help: "The same."},
	{Name: "bandwidth", Title: "bandwidth", Positive: true, Unit: "Hz", Example: "2.6 kHz", Help: "In the place of the edges: the passband lies evenly about its middle."},
	{Name: "speech", Title: "band of speech", Positive: true, Unit: "Hz", List: true, Default: "300 Hz, 2.7 kHz", Example: "300 Hz, 2.4 kHz", Help: "Lowest and highest audio frequency."},
	{Name: "enough", Title: "share of it that is enough", Positive: true, Unit: "%", Default: "70 %", Example: "60 %", Help: "Share of the band of speech within the passband from which speech is called copied."},
	{Name: "pitch", Title: "pitch", Positive: true, Unit: "Hz", Default: "800 Hz", Example: "650 Hz", Help: "Of telegraphy as you like it."},
	{Name: "pitch_range", Title: "range of pitch", Positive: true, Unit: "Hz", List: true, Default: "400 Hz, 1000 Hz", Example: "400 Hz, 1200 Hz", Help: "What you put up with."},
	{Name: "time_on", Title: "time since power-on", Positive: true, Unit: "s", Example: "1 h", Condition: true, Help: "At the start of the readings."},
}

// Sources of the amounts: common practice among listeners and restorers, no
// source.
var figures = []measure.FigureSpec{
	{ID: "bfo_low", Title: "lower end of the BFO", Unit: "Hz",
		Matters: 100, Why: "100 Hz is what is just noticed on speech with the carrier put back", Spread: 50,
		Help: "Lowest frequency of the BFO less the middle of the passband; the same as the upper end where the BFO is fixed."},
	{ID: "bfo_high", Title: "upper end of the BFO", Unit: "Hz",
		Matters: 100, Why: "100 Hz is what is just noticed on speech with the carrier put back", Spread: 50,
		Help: "Highest frequency of the BFO less the middle of the passband."},
	{ID: "bfo_drift", Title: "drift of the BFO", Unit: "Hz/h", Better: "smaller", Magnitude: true,
		Matters: 20, Why: "20 Hz in an hour stays inside a narrow telegraphy filter without a hand on the dial", Spread: 10,
		Help: "Slope of its frequency against time with the control untouched."},
	{ID: "sidebands", Title: "sidebands", Unit: "",
		Help: "Which of USB, LSB and CW can be copied with the measured passband and the reach of the BFO; how to set BFO and dial for each stands in the details."},
}

var cautions = []measure.Caution{
	{Where: "before", Text: measure.CautionCounter},
	{Where: "before", Text: "A probe on the tank pulls the BFO: hold the loop as far off as the counter allows, or listen to the beat instead."},
	{Where: "sound", Text: measure.CautionTerminals},
	{Where: "sound", Text: measure.CautionLoad},
	{Where: "sound", Text: measure.CautionSoundInput},
}

var fair = []measure.FairSpec{
	{Name: "time_on", Title: "time since power-on", Unit: "s", Advised: 1800, Least: 300,
		Why: "A set that still warms up drifts more."},
	{Name: "control", Title: "control of the BFO", Why: "A fixed BFO has no ends."},
}
