package workshop

import (
	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/judge"
)

// Result is a run with what its measurement makes of it.
type Result struct {
	Run        run.Run
	Set        receiver.Set
	State      receiver.State
	About      measure.About
	Raw        measure.Raw
	Analysis   measure.Analysis
	Amendments []run.Amendment
}

// Group is one side of a comparison: the runs of a state, a configuration or a
// set.
type Group struct {
	Selector string // as the user named it
	Kind     string // "set", "configuration", "state", "run"
	Name     string // "Turnstone, regulator in"
	Set      receiver.Set
	Results  []Result
}

// Comparison is two groups judged on the figures of one measurement. Fairness
// is to be read before any number.
type Comparison struct {
	About     measure.About
	Also      []measure.About // other measurements that both sides have runs of
	A, B      Group
	Fairness  measure.Fairness
	Applied   map[string]string // options that every run was evaluated with, so that they can be compared
	Rows      []ComparedFigure
	Sentences []string // the answer first, and what is not known
	Notes     []string
	Warnings  []string
	Plots     []measure.Plot
}

// ComparedFigure is one figure of both sides with its verdict.
type ComparedFigure struct {
	Spec       measure.FigureSpec
	Key        string            // figure id with the conditions that make it its own
	Conditions map[string]string // only those of Spec.By
	A, B       []run.Figure      // one a run, in the order of the groups' results; absent ones are left out
	Verdict    judge.Verdict
}
