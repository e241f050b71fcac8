package quantity

import (
	"math"
	"sort"
)

// Source is one independent cause of uncertainty. ID is stable across runs,
// files and programs; Name is for people. DoF is the degrees of freedom of the
// source's standard deviation; zero or less stands for infinitely many.
type Source struct {
	ID   string
	Name string
	DoF  float64
}

// dof returns the degrees of freedom with "not stated" read as infinite.
func (s Source) dof() float64 {
	if s.DoF <= 0 || math.IsNaN(s.DoF) {
		return math.Inf(1)
	}
	return s.DoF
}

// Contribution is the signed standard contribution C of one source, in the
// unit of the value it belongs to.
type Contribution struct {
	Source
	C float64
}

// Value is an estimate with the signed standard contributions of its sources,
// sorted by source id, one per source. The zero Value is exactly 0.
type Value struct {
	estimate float64
	parts    []Contribution
}

// Exact returns x with no uncertainty.
func Exact(x float64) Value { return Value{estimate: x} }

// New returns the estimate with the given contributions. Contributions of the
// same source add with their signs; those that come to zero are dropped.
func New(estimate float64, parts ...Contribution) Value {
	return Value{estimate: estimate, parts: merge(parts)}
}

// With returns v with further contributions.
func (v Value) With(parts ...Contribution) Value {
	all := make([]Contribution, 0, len(v.parts)+len(parts))
	all = append(append(all, v.parts...), parts...)
	return Value{estimate: v.estimate, parts: merge(all)}
}

// Estimate returns the best value.
func (v Value) Estimate() float64 { return v.estimate }

// Contributions returns a copy of the contributions, sorted by source id.
func (v Value) Contributions() []Contribution {
	return append([]Contribution(nil), v.parts...)
}

// U returns the standard uncertainty, the root sum of squares of the
// contributions (GUM eq. 10 with independent sources). It is NaN where the
// estimate is not a finite number.
func (v Value) U() float64 {
	if !finite(v.estimate) {
		return math.NaN()
	}
	u := 0.0
	for _, p := range v.parts {
		u = math.Hypot(u, p.C)
	}
	return u
}

// Combine returns f with the contributions Σ gradient[i]·c(values[i]): the
// law of propagation of uncertainty for any function whose value f and partial
// derivatives are known. The slices have equal length, or it panics.
func Combine(f float64, values []Value, gradient []float64) Value {
	if len(values) != len(gradient) {
		panic("quantity: Combine needs one derivative for each value")
	}
	var all []Contribution
	for i, v := range values {
		for _, p := range v.parts {
			p.C *= gradient[i]
			all = append(all, p)
		}
	}
	return Value{estimate: f, parts: merge(all)}
}

// merge adds contributions source by source, drops exact zeros and sorts by id.
// Where one source is given with different degrees of freedom the smaller, more
// cautious number is kept.
func merge(parts []Contribution) []Contribution {
	byID := make(map[string]int, len(parts))
	var out []Contribution
	for _, p := range parts {
		i, seen := byID[p.ID]
		if !seen {
			byID[p.ID] = len(out)
			out = append(out, p)
			continue
		}
		out[i].C += p.C
		if p.dof() < out[i].dof() {
			out[i].DoF = p.DoF
		}
	}
	kept := out[:0]
	for _, p := range out {
		if p.C != 0 {
			kept = append(kept, p)
		}
	}
	sort.Slice(kept, func(i, j int) bool { return kept[i].ID < kept[j].ID })
	return kept
}
