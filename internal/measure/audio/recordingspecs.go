package audio

import "setwright/internal/measure"

// The roles of recordings.
const (
	roleTone      = "tone"
	roleSweep     = "sweep"
	roleHum       = "hum"
	roleSet       = "set"
	roleReference = "reference"
)

var inputLabel = measure.OptionSpec{Name: "input", Title: "input level", Unit: "dBm", Example: "-47 dBm", Help: "What the generator was set to."}

var recordings = []measure.RecordingSpec{
	{Role: roleTone, Title: "modulated with a tone", Many: true,
		Help: "The set's audio output while the carrier is modulated with one tone, ten seconds or more. One at 1 kHz and 30 % gives distortion and SINAD; several frequencies the response; several input levels the best SINAD; several settings of the volume the power. Use 997 Hz for 1 kHz where the generator allows: it never meets the same samples twice.",
		Labels: []measure.OptionSpec{
			inputLabel,
			{Name: "modulation", Title: "modulation depth", Unit: "%", Positive: true, Default: "30 %", Example: "30 %"},
			{Name: "frequency", Title: "modulation frequency", Unit: "Hz", Positive: true, Example: "997 Hz", Help: "Found in the recording where it is not written."},
			{Name: "output", Title: "output by the meter", Unit: "V", Positive: true, Example: "3.2 V", Help: "Across the load, where the sound input is not calibrated; needed for the power."},
		}},
	{Role: roleSweep, Title: "modulated with a swept or stepped tone", Many: true,
		Help:   "The set's audio output while the modulation frequency goes slowly through its range at constant depth: a minute from 50 Hz to 8 kHz, or steps of a second each.",
		Labels: []measure.OptionSpec{inputLabel}},
	{Role: roleHum, Title: "carrier without modulation", Many: true,
		Help:   "The set's audio output with the carrier on and unmodulated, at the same volume and the same setting of the sound input as the tone at 1 kHz and 30 %; ten seconds or more.",
		Labels: []measure.OptionSpec{inputLabel}},
	{Role: roleSet, Title: "programme through the set",
		Help: "The set's audio output while the carrier is modulated with speech or music, half a minute or more. Best is the second channel of the recording that holds the programme."},
	{Role: roleReference, Title: "the programme itself",
		Help: "What modulated the carrier, at the same sample rate: the file that was played, or the other channel."},
}
