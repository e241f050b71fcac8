package sensitivity

import "setwright/internal/measure"

// why two decibels: the amount under which no listener and hardly any two
// generators agree.
const whyTwoDB = "2 dB is a third of an S-unit: less is neither heard nor agreed on by two generators"

// quarter is 2 dB as a fraction of a voltage.
const quarter = 0.26

// Sources of the amounts: common practice, no source.
var figures = []measure.FigureSpec{
	{ID: "sensitivity_am", Title: "sensitivity, AM", Unit: "V", Better: "smaller",
		Matters: quarter, Relative: true, Why: whyTwoDB, Spread: 0.1, SpreadRelative: true,
		Help: "EMF behind the dummy antenna at which the output with 30 % modulation is 10 dB above that with the carrier alone."},
	{ID: "sensitivity_cw", Title: "sensitivity, CW", Unit: "V", Better: "smaller",
		Matters: quarter, Relative: true, Why: whyTwoDB, Spread: 0.1, SpreadRelative: true,
		Help: "EMF behind the dummy antenna at which the output with the carrier is 10 dB above that without it, BFO on."},
	{ID: "mds", Title: "minimum discernible signal", Unit: "V", Better: "smaller",
		Matters: quarter, Relative: true, Why: whyTwoDB, Spread: 0.1, SpreadRelative: true,
		Help: "EMF behind the dummy antenna at which a carrier raises the output by 3 dB, BFO on: the noise floor."},
	{ID: "sensitivity_sinad", Title: "sensitivity, 12 dB SINAD", Unit: "V", Better: "smaller",
		Matters: quarter, Relative: true, Why: whyTwoDB, Spread: 0.1, SpreadRelative: true,
		Help: "EMF behind the dummy antenna at which all of the output is 12 dB above what is not the tone."},
	{ID: "antenna_noise_rise", Title: "noise rise on the antenna", Unit: "dB", Better: "larger",
		Matters: 2, Why: "2 dB is a third of an S-unit; from 10 dB up more is worth nothing", Spread: 1,
		Help: "Noise output with the antenna against the dummy, same gain, AGC off. From 10 dB up more sensitivity is worth nothing there."},
	{ID: "noise_bandwidth", Title: "noise bandwidth", Unit: "Hz",
		Help: "Width of the ideal filter that passes as much noise, before the detector: as stated, or from a recording of the noise."},
	{ID: "external_noise", Title: "external noise to be expected", Unit: "dB",
		Help: "Median above kT0B by ITU-R P.372 for the surroundings stated, short lossless antenna; its uncertainty is that of one occasion."},
}

var cautions = []measure.Caution{
	{Where: "before", Text: measure.CautionTerminals},
	{Where: "before", Text: measure.CautionLoad},
	{Where: "before", Text: measure.CautionTransmitter},
	{Where: "sound", Text: measure.CautionSoundInput},
	{Where: "antenna", Text: measure.CautionThunder},
}

var fair = []measure.FairSpec{
	{Name: "mode", Title: "the mode", Why: "AM at 30 % needs 10 dB more than CW from the same set."},
	{Name: "dial", Title: "dial setting", Unit: "Hz", Relative: true, Tolerance: 0.01, Limit: 0.1, Why: "Sensitivity differs from band to band and along each."},
	{Name: "modulation", Title: "modulation depth", Unit: "%", Tolerance: 2, Limit: 40, Why: "The figure is brought to 30 %, which holds for a linear detector."},
	{Name: "modulation_frequency", Title: "modulation frequency", Unit: "Hz", Relative: true, Tolerance: 0.1, Limit: 3, Why: "The audio part does not pass all tones alike."},
	{Name: "dummy", Title: "the dummy antenna", Why: "An input circuit is matched to one source only."},
	{Name: "filter", Title: "the selectivity setting", OfSet: true, By: "bandwidth", Why: "Noise goes with the bandwidth: compare sets of unequal width by their noise figure."},
	{Name: "bandwidth", Title: "bandwidth", Unit: "Hz", Relative: true, Tolerance: 0.1, Limit: 1, Why: "Noise goes with the bandwidth: compare sets of unequal width by their noise figure."},
	{Name: "agc", Title: "the AGC setting", Why: "AGC lets the noise fall as the carrier rises."},
	{Name: "bfo", Title: "the BFO", Why: "It makes another detector of the same one."},
	{Name: "limiter", Title: "the noise limiter", Why: "It cuts into the tone as well as into the noise."},
	{Name: "gain_control", Title: "the RF gain control", OfSet: true, Why: "Turned down, it lets the later stages' noise in."},
}
