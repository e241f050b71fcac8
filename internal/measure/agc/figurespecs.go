package agc

import "setwright/internal/measure"

// Sources of the amounts that matter: where nothing else is named, common
// practice among listeners and restorers, no source.
var figures = []measure.FigureSpec{
	{ID: "agc_spread", Title: "AGC spread", Unit: "dB", By: []string{"from_dbm", "to_dbm"}, Better: "smaller",
		Matters: 2, Why: "2 dB is about the least change of loudness that makes a hand go to the volume control", Spread: 0.5,
		Help: "Change of output over the stated range of input, carrier modulated 30 %."},
	{ID: "agc_merit", Title: "AGC figure of merit", Unit: "dB", By: []string{"reference_v", "drop_db"}, Better: "larger",
		Matters: 3, Why: "3 dB of input is about what one reading of an old attenuator can be out", Spread: 1,
		Help: "How far the input falls from the reference (0.1 V EMF, or the highest level reached) for the output to fall 10 dB."},
	{ID: "agc_slope", Title: "AGC slope", Unit: "dB/dB", Better: "smaller",
		Matters: 0.02, Why: "0.02 dB/dB is 1.6 dB over 80 dB of stations", Spread: 0.01,
		Help: "Change of output per change of input above the knee, by a straight line."},
	{ID: "agc_knee", Title: "AGC knee", Unit: "dBm",
		Help: "Input level where the local slope of the static curve falls below 0.5 dB/dB. Low holds weak stations level; high (delayed AGC) leaves them their full gain."},
	{ID: "agc_attack", Title: "attack time", Unit: "s", By: []string{"step_db", "criterion_db"}, Better: "smaller",
		Matters: 0.2, Relative: true, Why: "a fifth is what the ear and the reading of a slope agree on", Spread: 0.1, SpreadRelative: true,
		Help: "From a step up of the input until the output stays within the criterion of its fitted final level."},
	{ID: "agc_recovery", Title: "recovery time", Unit: "s", By: []string{"step_db", "criterion_db"},
		Matters: 0.2, Relative: true, Why: "a fifth is what the ear and the reading of a slope agree on", Spread: 0.1, SpreadRelative: true,
		Help: "From a step down of the input until the output stays within the criterion of its fitted final level. The output is tone and noise together: noise of the audio stages 20 dB below the settled tone makes it 1 % shorter than that of the tone alone. Long suits speech, short suits fading and keying: neither is better."},
	{ID: "agc_overshoot", Title: "overshoot", Unit: "dB", By: []string{"step_db", "direction"}, Better: "smaller",
		Matters: 2, Why: "a burst 2 dB louder is about the least that is noticed at the start of a sign", Spread: 0.5,
		Help: "How far the output rises above its fitted final level after a step up of the input, before the gain control has it in hand."},
	{ID: "agc_between_characters", Title: "noise rise between characters", Unit: "dB", Better: "smaller",
		Matters: 2, Why: "2 dB is about the least change of noise that is noticed between signs", Spread: 0.7,
		Help: "Noise level 0.5 s after the key goes up over that 100 ms after it went up."},
	{ID: "pumping", Title: "pumping", Unit: "dB/dB", By: []string{"rate_hz"}, Better: "smaller",
		Matters: 0.05, Why: "0.05 dB/dB is half a decibel on a fade of 10 dB", Spread: 0.02,
		Help: "Peak-to-peak swing of the output per peak-to-peak swing of a slowly modulated carrier, noise subtracted."},
}
