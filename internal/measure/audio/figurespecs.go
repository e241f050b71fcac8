package audio

import "setwright/internal/measure"

// Sources of the amounts that matter: where nothing else is named, common
// practice among listeners and restorers, no source.
var figures = []measure.FigureSpec{
	{ID: "audio_low", Title: "lower edge of the response", Unit: "Hz", By: []string{"method"}, Better: "smaller",
		Matters: 0.2, Relative: true, Why: "a quarter of an octave at the bottom is about the least that is noticed", Spread: 0.04, SpreadRelative: true,
		Help: "Modulation frequency below 1 kHz at which the output is down by 6 dB from that at 1 kHz."},
	{ID: "audio_high", Title: "upper edge of the response", Unit: "Hz", By: []string{"method"}, Better: "larger",
		Matters: 0.15, Relative: true, Why: "a fifth of an octave at the top is about the least that is noticed", Spread: 0.03, SpreadRelative: true,
		Help: "Modulation frequency above 1 kHz at which the output is down by 6 dB from that at 1 kHz."},
	{ID: "thd", Title: "total harmonic distortion", Unit: "%", By: toneBy, Better: "smaller",
		Matters: 1, Why: "one per cent of low harmonics is about where speech and music begin to sound different", Spread: 0.2,
		Help: "Harmonics 2 to 10 that fall in the band, rms sum, over the fundamental. A bound unless the source's own is known."},
	{ID: "thd_total", Title: "total harmonic distortion, over the total", Unit: "%", By: toneBy, Better: "smaller",
		Help: "The same harmonics over the rms sum of fundamental and harmonics."},
	{ID: "thd_noise", Title: "distortion with noise", Unit: "%", By: toneBy, Better: "smaller",
		Help: "Everything in the band but the fundamental (harmonics, hum, noise) over everything."},
	{ID: "sinad", Title: "SINAD", Unit: "dB", By: toneBy, Better: "larger",
		Matters: 1, Why: "1 dB is about the least difference of noise that is heard", Spread: 0.3,
		Help: "(S+N+D)/(N+D): power of everything over that of everything but the tone."},
	{ID: "sinad_max", Title: "best SINAD", Unit: "dB", Better: "larger",
		Matters: 2, Why: "above 30 dB and more, 2 dB are hardly heard", Spread: 0.5,
		Help: "Best SINAD over the input levels recorded: where the set's own hum, noise and distortion set the limit."},
	{ID: "hum", Title: "hum", Unit: "dB", By: []string{"taken"}, Better: "larger",
		Matters: 3, Why: "3 dB of hum is about the least that is noticed in a quiet room", Spread: 1,
		Help: "Line frequency and its harmonics to the tenth, rms sum, so far below the output at 30 % modulation and 1 kHz."},
	{ID: "audio_power", Title: "audio power", Unit: "W", By: []string{"load_ohm", "thd_pct"}, Better: "larger",
		Matters: 0.25, Relative: true, Why: "a quarter is 1 dB, about the least difference of loudness that is heard", Spread: 0.05, SpreadRelative: true,
		Help: "Power into the stated load at which the distortion reaches 10 %."},
	{ID: "incoherent_share", Title: "what the set adds", Unit: "%", Better: "smaller",
		Matters: 1, Why: "as for distortion", Spread: 0.3,
		Help: "Of the output on a programme, the rms share that does not follow the modulation: noise, hum and distortion together. Distortion alone is not more."},
}

// toneBy are the conditions that make a figure of a tone another one.
var toneBy = []string{"tone_hz", "modulation_pct", "input_dbm", "output_v"}
