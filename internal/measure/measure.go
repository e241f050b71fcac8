// Package measure is the contract of a measurement and of a derivation, and
// the registry that lists them.
//
// A measurement is a kind of measuring: what it needs, how it is done at the
// bench, and one pure function from a run's raw data and options to figures.
// It uses no clock, no disk, no network and no randomness but a seeded one.
// Command line, pages, bench card, comparison and report take everything they
// show from it, so that a new measurement is one new folder and one line in
// the registry.
package measure

import (
	"context"

	"setwright/internal/run"
)

// Measurement is one kind of measuring.
type Measurement interface {
	// About says what the measurement is, takes and gives.
	About() About
	// Next says what to do next at the bench, given the readings so far.
	Next(raw Raw) Step
	// Analyse turns raw data into figures. Data that do not allow a figure
	// leave it out with a note; data that allow nothing give an error of type
	// *Refusal. It calls progress, where not nil, with the fraction done.
	Analyse(ctx context.Context, raw Raw, progress func(float64)) (Analysis, error)
}

// About describes a measurement.
type About struct {
	ID      string // "drift"
	Title   string // "Drift from cold"
	Purpose string // one sentence: what it tells the owner of the set
	Method  string // method and version of the figures, "drift/1"
	Columns []ColumnSpec
	// Recordings are the recordings it can take in the place of readings.
	Recordings []RecordingSpec
	// Typed are the roles of the columns that one typed row fills, in order,
	// beside the time, which is stamped. None: the required ones, or the first.
	Typed    []string
	Options  []OptionSpec
	Figures  []FigureSpec
	Cautions []Caution
	// Fair lists what two runs must have in common to be compared.
	Fair []FairSpec
}

// ColumnSpec is one column the measurement takes.
type ColumnSpec struct {
	Role  string // "time", "frequency"
	Title string // "frequency"
	Unit  string // base unit, "Hz"
	// Units are further base units the column may come in; the measurement
	// converts them: an input level in dBm, V or dBµV.
	Units    []string
	Bare     string // unit of a bare number, where it is not the base unit: "%"
	Required bool
	Aliases  []string // header words people use
	Help     string
}

// OptionSpec is one option with its default. Values are text as typed; the
// measurement parses them and says what was expected where it cannot.
type OptionSpec struct {
	Name    string // "horizon"
	Title   string // "horizon"
	Unit    string // unit of a plain number, "" for words
	Default string
	Choices []string // for options that take one of a few words; with List, some of them
	Example string
	Help    string
	List    bool // several values, separated by commas

	// Positive says that a number must be above zero.
	Positive bool
	// Verify, where not nil, checks text that is no plain number of one unit.
	Verify func(text string) error
	// Condition says the option describes the circumstances of a run (and is
	// asked for when a run is entered) rather than how it is analysed.
	Condition bool
}

// FigureSpec is one figure the measurement can give.
type FigureSpec struct {
	ID    string
	Title string // "settling time"
	Unit  string
	Help  string   // the definition in one or two sentences
	By    []string // conditions that make it a different figure: "band_hz"
	// Better says which way is better: "smaller", "larger", or "" where
	// neither is (a count or a choice that is only compared).
	Better string
	// Magnitude says that the figure carries a sign but is judged by its size:
	// a drift of -300 Hz/h is worse than one of +20 Hz/h.
	Magnitude bool
	// Matters is the amount, in Unit, below which a difference is of no
	// consequence to the user, or, where Relative, a fraction of the first
	// side's value; Why is its reason. Zero: the figure is not judged.
	Matters  float64
	Relative bool
	Why      string
	// Spread is a typical run-to-run standard deviation for planning only,
	// in Unit, or as a fraction where SpreadRelative; never used to judge.
	Spread         float64
	SpreadRelative bool
}

// Caution stands where the hand goes.
type Caution struct {
	Text  string
	Where string // "before", or a step id
}

// FairSpec is one condition of a fair comparison: an option of the runs, or a
// column of that role.
type FairSpec struct {
	Name  string // option or column role: "off_time", "oscillator"
	Title string
	Unit  string // base unit of a number, "" for words
	// For words: unlike words block a comparison. Where OfSet is true they name
	// positions of a set's own controls, which two sets name differently: between
	// two sets unlike words are told and do not block, for one cannot ask of them
	// to be alike. By then names a numeric condition that says what the words
	// mean, "bandwidth" for a filter: recorded on both sides, it is what counts.
	OfSet bool
	By    string
	// For numbers: a difference of the sides' medians above Tolerance is
	// warned of, above Limit it blocks; both are fractions where Relative.
	// A run below Advised is warned of, below Least it blocks. Zero: not asked.
	Tolerance, Limit float64
	Relative         bool
	Advised, Least   float64
	Why              string
}

// Raw is what an analysis sees: the series with amendments applied, options,
// set-up, and who it is.
type Raw struct {
	RunID   string // names the run's own sources of uncertainty; a digest of the data where nothing is stored
	Series  run.Series
	Rows    []int             // row of the unamended series for each row, nil if none was struck out
	Options map[string]string // by option name; absent means default
	Setup   run.Setup
	Notes   []string // amendments in words
	// Recordings are the recordings of the run, in the order given.
	Recordings []Recording
	// Set facts that an analysis may use, zero if unknown.
	IFHz float64
}

// Option returns the text of an option or its default.
func (r Raw) Option(a About, name string) string {
	if v, ok := r.Options[name]; ok && v != "" {
		return v
	}
	for _, o := range a.Options {
		if o.Name == name {
			return o.Default
		}
	}
	return ""
}

// Analysis is everything an analysis yields.
type Analysis struct {
	Sentences []string // the result in plain sentences, most important first
	Figures   []run.Figure
	Notes     []string   // what was refused, left out or assumed, and why
	Warnings  []string   // what the reader should worry about
	SetAside  []SetAside // readings not used in the figures
	Plots     []Plot     // the first is the main one
	Stretches []Stretch  // the parts of recordings that figures came from
}

// SetAside is one reading that took no part, with the reason.
type SetAside struct {
	Row    int // row of the unamended series, 0-based
	TimeS  float64
	Value  float64
	Unit   string
	Reason string
}

// Step is one thing to do at the bench.
type Step struct {
	ID      string
	Do      string // one action: "Read the counter and type what it shows."
	Why     string
	Column  string  // role of the column the reading goes to, "" for none
	Unit    string  // unit taken for a bare number
	WaitS   float64 // seconds until it is due, 0 for now
	Done    bool    // nothing more is needed
	Number  int     // step number, from 1
	Of      int     // steps planned, 0 if open-ended
	Caution string
	Quality string // how good the run is so far, in words
}

// Refusal is data that do not allow the measurement at all. The texts are parts
// of one sentence, "found ..., expected ...; advice": lower case, no stop.
type Refusal struct {
	Found, Expected, Advice string
	Row                     int // 0-based row of the unamended series, -1 if none
}

// Error returns the refusal as one sentence.
func (r *Refusal) Error() string {
	s := r.Found
	if r.Expected != "" {
		s = "found " + s + ", expected " + r.Expected
	}
	if r.Advice != "" {
		s += "; " + r.Advice
	}
	return s
}

// Aligner is implemented by measurements whose figures depend on how long or
// how far a run went: the options under which runs can be compared.
type Aligner interface {
	// Align returns options to evaluate every one of the runs with.
	Align(raws []Raw) map[string]string
	// Fits says whether a run reaches far enough for those options.
	Fits(raw Raw, applied map[string]string) bool
}
