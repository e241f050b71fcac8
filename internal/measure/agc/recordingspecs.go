package agc

import "setwright/internal/measure"

// The roles of recordings.
const (
	roleStep   = "step"
	roleKeyed  = "keyed"
	roleFading = "fading"
)

var recordings = []measure.RecordingSpec{
	{Role: roleStep, Title: "carrier stepped by a pad", Many: true,
		Help: "The set's audio output while the input is switched up and down by a clean pad, held for ten seconds or more each time; five steps each way make a good run. The carrier is modulated, or beaten by the BFO, so that there is a tone to follow.",
		Labels: []measure.OptionSpec{
			{Name: "step", Title: "step of the input", Unit: "dB", Positive: true, Default: "20 dB", Example: "20 dB", Help: "Loss of the pad."},
			{Name: "input", Title: "upper input level", Unit: "dBm", Example: "-47 dBm", Help: "With the pad out."},
		}},
	{Role: roleKeyed, Title: "keyed carrier", Many: true,
		Help:   "The set's audio output with BFO on while the carrier is keyed: down for a second, up for a second, ten times or more.",
		Labels: []measure.OptionSpec{{Name: "input", Title: "input level", Unit: "dBm", Example: "-73 dBm", Help: "With the key down."}}},
	{Role: roleFading, Title: "slowly fading carrier", Many: true,
		Help: "The set's audio output while the level of the carrier is moved up and down by a sine of 0.5, 1 or 4 Hz; a recording each, twenty swings or more.",
		Labels: []measure.OptionSpec{
			{Name: "rate", Title: "rate of the fading", Unit: "Hz", Positive: true, Example: "1 Hz", Help: "Needed."},
			{Name: "depth", Title: "swing of the input, peak to peak", Unit: "dB", Positive: true, Example: "10 dB", Help: "The swing, or the modulation below."},
			{Name: "modulation", Title: "modulation of the slow fading", Unit: "%", Positive: true, Example: "50 %", Help: "Where the level is moved by slow amplitude modulation: m gives a swing of 20 lg((1 + m)/(1 − m)) dB."},
			{Name: "input", Title: "mean input level", Unit: "dBm", Example: "-73 dBm"},
		}},
}
