package judge

import "setwright/quantity"

// Word is a verdict in the words of the bench. It is said of side b.
type Word string

// The words of a verdict on a difference.
const (
	Better        Word = "better"
	Worse         Word = "worse"
	NoDifference  Word = "no difference that matters"
	CannotTell    Word = "cannot tell yet"
	BetterPerhaps Word = "better, perhaps by too little to matter"
	WorsePerhaps  Word = "worse, perhaps by too little to matter"

	// For figures of which neither direction is better, and for choices.
	Different        Word = "different"
	DifferentPerhaps Word = "different, perhaps by too little to matter"
)

// Mirror returns the word that holds when the sides are exchanged.
func (w Word) Mirror() Word {
	switch w {
	case Better:
		return Worse
	case Worse:
		return Better
	case BetterPerhaps:
		return WorsePerhaps
	case WorsePerhaps:
		return BetterPerhaps
	}
	return w
}

// Firm reports whether more runs could not make the word any plainer: all words
// but "cannot tell yet" and those with "perhaps".
func (w Word) Firm() bool {
	switch w {
	case CannotTell, BetterPerhaps, WorsePerhaps, DifferentPerhaps:
		return false
	}
	return true
}

// Direction says which way a figure is better.
type Direction string

// The directions; the empty one is for figures of which none is better.
const (
	Smaller   Direction = "smaller"
	Larger    Direction = "larger"
	Unchanged Direction = "unchanged" // of claims only
)

// Said is the direction as it is said of a figure in this unit: a time is shorter
// or longer.
func (d Direction) Said(unit string) string {
	switch {
	case unit != "s":
	case d == Smaller:
		return "shorter"
	case d == Larger:
		return "longer"
	}
	return string(d)
}

// sign is the sign of a change this way, 0 for none.
func (d Direction) sign() float64 {
	switch d {
	case Smaller:
		return -1
	case Larger:
		return 1
	}
	return 0
}

// Observation is what one run found. Pair names what the run shares with one
// run of the other side (same morning, same antenna, alternated); Day is the
// day it was made on. Exposure is for counts only: how long or how much was
// watched, in any unit that is the same for all runs (0 stands for 1).
type Observation struct {
	Run, Label string
	Outcome    quantity.Outcome
	Day, Pair  string
	Exposure   float64
}

// Side is one side of a comparison: a state, a configuration or a set.
type Side struct {
	Name         string
	Observations []Observation
}

// Criterion says what is judged: the figure, its unit, which way is better, and
// the amount that matters with the reason for it. Relative makes Matters a
// fraction of the mean of both sides (so that exchanging the sides changes
// nothing); else it is in Unit. Matters = 0 means that every real difference
// matters, and then nothing can be "no difference that matters".
type Criterion struct {
	Figure, Unit string
	Better       Direction
	Matters      float64
	Relative     bool
	Why          string
}

// Spread is run-to-run scatter known from repeats: standard deviation in the
// figure's unit, its degrees of freedom (0 for a figure taken as known), and in
// words where it comes from. Apart states that these repeats are other runs
// than the ones compared; only then is it pooled with their own scatter.
type Spread struct {
	SD, DoF float64
	Of      string
	Apart   bool
}

// Options of a comparison. The zero value is a good default.
type Options struct {
	// KnownScatter is the run-to-run scatter that the book knows, for both
	// sides; KnownB, where given, is for side b (another set).
	KnownScatter, KnownB *Spread

	// PairByDay pairs runs of one day where they carry no Pair of their own.
	// Unpaired judges all runs as independent whatever they carry.
	PairByDay, Unpaired bool

	// MaxMore is the largest number of further runs a side worth naming;
	// 0 stands for 30.
	MaxMore int

	// NoNeeded leaves out how many more runs would decide.
	NoNeeded bool
}

const (
	alpha      = 0.05 // of every statement
	powerAim   = 0.8  // with which further runs should decide
	defaultMax = 30
)

func (o Options) maxMore() int {
	if o.MaxMore <= 0 {
		return defaultMax
	}
	return o.MaxMore
}
