// Package drift is the measurement of an oscillator from cold: frequency
// against time since power-on, read by a counter, from a dial, or as a beat
// note, logged or recorded. Its figures are defined in the specs below, each in a sentence or two;
// the computations are those of package stability.
package drift

import (
	"setwright/internal/measure"
	"setwright/stability"
)

// Method names the figures' method and version. It changes whenever the same
// raw data would give different figures, so that the book's cache is renewed.
const Method = "drift/3"

// Measurement is the drift measurement. The zero value is ready to use.
type Measurement struct{}

// About describes the measurement.
func (Measurement) About() measure.About {
	return measure.About{
		ID:         "drift",
		Title:      "Drift from cold",
		Purpose:    "How far the oscillator moves from cold, how soon it stays put, and how steady it is afterwards.",
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
	{Role: "time", Title: "time", Unit: "s", Required: true,
		Aliases: []string{"t", "time", "elapsed", "clock", "seconds", "sec", "min", "minutes", "hours", "timestamp", "date", "uptime"},
		Help:    "Time since power-on, time of day or a full time stamp."},
	{Role: "frequency", Title: "frequency", Unit: "Hz", Required: true,
		Aliases: []string{"f", "freq", "frequency", "counter", "reading", "dial", "beat", "lo", "osc", "oscillator", "bfo"},
		Help:    "Frequency of the oscillator, the BFO, or the beat note."},
	{Role: "ambient", Title: "ambient temperature", Unit: "°C",
		Aliases: []string{"ambient", "temp", "temperature", "room", "t_amb", "tamb"},
		Help:    "Air temperature near the set."},
	{Role: "line_voltage", Title: "line voltage", Unit: "V",
		Aliases: []string{"line", "mains", "line_v", "supply", "ac"},
		Help:    "Volts of the supply line."},
	{Role: "ht_voltage", Title: "HT voltage", Unit: "V",
		Aliases: []string{"ht", "b+", "hv", "anode", "plate"},
		Help:    "Volts of the high-tension rail."},
}

var options = []measure.OptionSpec{
	{Name: "power_on", Title: "moment of power-on", Unit: "s", Example: "-30 s",
		Help: "On the time scale of the record. Default: the first sample."},
	{Name: "power_on_u", Title: "uncertainty of that moment", Unit: "s", Default: "2 s", Example: "10 s",
		Help: "One standard uncertainty of the moment of power-on."},
	{Name: "oscillator", Title: "oscillator watched", Choices: []string{"local", "bfo", "set"}, Condition: true,
		Help: "local: the local oscillator; bfo: the beat oscillator; set: the whole set, as a beat note."},
	{Name: "beat_sense", Title: "sense of the beat note", Choices: []string{"rises", "falls", "unknown"}, Condition: true,
		Help: "Whether the beat note rises or falls when the oscillator's frequency rises. Unknown: drift from a recording has a size and no sign."},
	{Name: "beat", Title: "beat note begins at about", Positive: true, Unit: "Hz", Example: "1 kHz",
		Help: "Where to look for it in a recording that holds other tones. Default: the strongest tone that is no hum."},
	{Name: "off_time", Title: "time off before power-on", Unit: "s", Example: "14 h", Condition: true,
		Help: "A cold start needs the set at room temperature."},
	{Name: "dial", Title: "dial frequency", Positive: true, Unit: "Hz", Example: "7.9 MHz", Condition: true,
		Help: "What the dial was set to."},
	{Name: "band", Title: "band", Example: "4", Condition: true, Help: "Which range the set was switched to."},
	{Name: "ambient", Title: "ambient temperature", Unit: "°C", Example: "19 °C", Condition: true,
		Help: "Taken from the column, if there is one."},
	{Name: "line_voltage", Title: "line voltage", Positive: true, Unit: "V", Example: "232 V", Condition: true,
		Help: "Taken from the column, if there is one."},
	{Name: "if", Title: "nominal intermediate frequency", Positive: true, Unit: "Hz", Example: "612 kHz",
		Help: "Taken from the set's description, if known."},
	{Name: "nominal", Title: "nominal frequency", Positive: true, Unit: "Hz", Example: "10 MHz",
		Help: "Divides fractional figures. Default: the mean of the record."},
	{Name: "timebase", Title: "time base of the counter", Unit: "1", Example: "1 ppm",
		Help: "One standard uncertainty, as a fraction, common to all readings, where no instrument of the run says it."},
	{Name: "bands", Title: "bands of settling", Positive: true, Unit: "Hz", List: true, Default: "500 Hz, 100 Hz, 20 Hz", Example: "200 Hz, 50 Hz",
		Help: "Half-widths, separated by commas."},
	{Name: "horizon", Title: "horizon", Positive: true, Unit: "s", Example: "2 h",
		Help: "Time since power-on at which the figures look back. Default: the record's end."},
	{Name: "window", Title: "closing window", Positive: true, Unit: "s", Default: "30 min", Example: "20 min",
		Help: "Stretch before the horizon over which the residual drift is taken."},
	{Name: "allan", Title: "kinds of deviation", List: true, Choices: stability.KindNames(), Default: "overlapping", Example: "overlapping, modified, hadamard, total, time, plain",
		Help: "Which Allan-family deviations to give, separated by commas."},
}

// Sources of the amounts: where nothing else is named, common practice among
// listeners and restorers, no source.
var figures = []measure.FigureSpec{
	{ID: "settling_time", Title: "settling time", Unit: "s", By: []string{"band_hz"}, Better: "smaller",
		Matters: 300, Why: "five minutes of waiting is about the least anybody plans by", Spread: 0.1, SpreadRelative: true,
		Help: "Earliest time after power-on from which the smoothed frequency stays within the band around its closing value up to the horizon: the last exit, not the first entry."},
	{ID: "usable_after", Title: "time until usable", Unit: "s", By: []string{"band_hz"}, Better: "smaller",
		Matters: 300, Why: "five minutes of waiting is about the least anybody plans by", Spread: 0.1, SpreadRelative: true,
		Help: "Earliest time after which no 10 min window within the record moves by more than the band's full width."},
	{ID: "excursion", Title: "excursion", Unit: "Hz", Better: "smaller",
		Matters: 100, Why: "100 Hz is what is just noticed on speech with the carrier put back", Spread: 0.04, SpreadRelative: true,
		Help: "Largest minus smallest of the smoothed record from 60 s after power-on to the horizon."},
	{ID: "residual_drift", Title: "residual drift", Unit: "Hz/h", Better: "smaller", Magnitude: true,
		Matters: 20, Why: "20 Hz in an hour stays inside a narrow telegraphy filter without a hand on the dial", Spread: 10,
		Help: "Slope over the closing window with jumps taken out."},
	{ID: "wander", Title: "wander", Unit: "Hz", Better: "smaller",
		Matters: 10, Why: "10 Hz within ten minutes is heard as a changed note, hardly less", Spread: 0.25, SpreadRelative: true,
		Help: "Largest peak-to-peak of 10 s means in any 10 min window after settling, nothing removed."},
	{ID: "jumps", Title: "jumps", Unit: "count", Better: "smaller",
		Matters: 1, Why: "one jump in an evening loses the station",
		Help: "Steps that the smooth model cannot explain: a bad joint, a slipping dial, a failing mica capacitor."},
	{ID: "tempco", Title: "temperature coefficient", Unit: "1/K", Better: "smaller", Magnitude: true,
		Matters: 5e-6, Why: "5 ppm/K is what a well-made coil and capacitor leave; less is luck",
		Help: "Slope of fractional frequency on ambient temperature, the thermal lag fitted; only from a record in which ambient was made to change."},
	{ID: "closing_frequency", Title: "closing frequency", Unit: "Hz",
		Help: "Median of the last 5 min before the horizon."},
	{ID: "final_frequency", Title: "final frequency", Unit: "Hz",
		Help: "Limit of the fitted exponentials, the straight line taken at the horizon."},
	{ID: "time_constant", Title: "time constant", Unit: "s", By: []string{"term"},
		Help: "Of the fitted sum of one or two exponentials plus a straight line."},
	{ID: "allan_deviation", Title: "Allan deviation", Unit: "1", By: []string{"kind", "tau_s"}, Better: "smaller",
		Help: "Two-sample deviation of the fractional frequency over the settled part, no trend removed."},
	{ID: "time_deviation", Title: "time deviation", Unit: "s", By: []string{"tau_s"}, Better: "smaller",
		Help: "tau / sqrt(3) times the modified Allan deviation."},
	{ID: "injection", Title: "injection", Unit: "",
		Help: "Whether the oscillator runs above or below the signal."},
	{ID: "if_estimate", Title: "intermediate frequency, estimated", Unit: "Hz",
		Help: "Distance of the oscillator from the dial frequency at the horizon."},
}

var cautions = []measure.Caution{
	{Where: "before", Text: "A set that has not run for years is not simply switched on: have supply, insulation and old capacitors checked first, and bring it up on a limiter. Local codes and qualified persons take precedence."},
	{Where: "before", Text: measure.CautionCounter},
	{Where: "before", Text: "Do not leave a set of this age running unattended: warmth finds weak parts."},
	{Where: "sound", Text: measure.CautionTerminals},
	{Where: "sound", Text: measure.CautionLoad},
	{Where: "sound", Text: measure.CautionSoundInput},
}

var fair = []measure.FairSpec{
	{Name: "oscillator", Title: "the oscillator watched", Why: "Drift of one oscillator says nothing about another."},
	{Name: "off_time", Title: "time off before power-on", Unit: "s", Advised: 6 * 3600, Least: 3600,
		Why: "A set that was still warm has part of its drift behind it."},
	{Name: "ambient", Title: "ambient temperature", Unit: "°C", Tolerance: 3, Limit: 10,
		Why: "A colder room means a longer way up."},
	{Name: "line_voltage", Title: "line voltage", Unit: "V", Relative: true, Tolerance: 0.025, Limit: 0.08,
		Why: "Heat in the set goes with the square of the line voltage."},
	{Name: "dial", Title: "dial setting", Unit: "Hz", Relative: true, Tolerance: 0.01, Limit: 0.05,
		Why: "The same set drifts by another amount at another dial setting."},
}
