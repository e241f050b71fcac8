package quantity

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"unicode/utf8"
)

// SourceJSON is a contribution as it stands in JSON. An absent dof is infinite.
type SourceJSON struct {
	ID   string   `json:"id"`
	Name string   `json:"name,omitempty"`
	C    float64  `json:"c"`
	DoF  *float64 `json:"dof,omitempty"`
}

// OutcomeJSON is an outcome with its unit as it stands in JSON. It may be
// embedded in a larger object. Numbers survive bit for bit, so outcomes that
// went through JSON still cancel what they share. JSON knows no infinity: an
// absent or null dof is infinite. The standard uncertainty u repeats what the
// sources say and is checked against them on reading.
type OutcomeJSON struct {
	Kind    Kind         `json:"kind"`
	Value   *float64     `json:"value,omitempty"`
	U       *float64     `json:"u,omitempty"`
	DoF     *float64     `json:"dof,omitempty"`
	Unit    string       `json:"unit,omitempty"`
	Lo      *float64     `json:"lo,omitempty"`
	Hi      *float64     `json:"hi,omitempty"`
	Bound   string       `json:"bound,omitempty"`
	Choice  string       `json:"choice,omitempty"`
	CI      *[2]float64  `json:"ci,omitempty"`
	Level   *float64     `json:"level,omitempty"`
	Sources []SourceJSON `json:"sources,omitempty"`
}

// EncodeOutcome returns the JSON form of o in the given unit. It refuses what
// [OutcomeJSON.Outcome] would not read back: NaN, infinities, kinds that are
// not known, an interval upside down.
func EncodeOutcome(o Outcome, unit string) (OutcomeJSON, error) {
	j := OutcomeJSON{Kind: o.Kind, Unit: unit, Bound: o.Bound, Choice: o.Choice}
	if o.CI != nil {
		ci := *o.CI
		j.CI = &ci
	}
	if o.Level != 0 {
		j.Level = &o.Level
	}
	if o.Kind == KindInterval {
		j.Lo, j.Hi = &o.Lo, &o.Hi
	}
	// An interval or a choice has a value only where somebody gave it one.
	if o.Kind == KindValue || o.Kind == KindBound || o.Kind == KindCount || o.Value.estimate != 0 || len(o.Value.parts) > 0 {
		j.setValue(o.Value)
	}
	if _, _, err := j.Outcome(); err != nil {
		return OutcomeJSON{}, err
	}
	return j, nil
}

func (j *OutcomeJSON) setValue(v Value) {
	u := v.U()
	j.Value, j.DoF = &v.estimate, finiteDoF(v.DoF())
	if u != 0 || j.Kind == KindValue {
		j.U = &u
	}
	for _, p := range v.parts {
		j.Sources = append(j.Sources, SourceJSON{ID: p.ID, Name: p.Name, C: p.C, DoF: finiteDoF(p.dof())})
	}
}

func finiteDoF(dof float64) *float64 {
	if math.IsInf(dof, 1) {
		return nil
	}
	return &dof
}

// Outcome reads the JSON form back; it returns the outcome and its unit. The
// error says which field holds what, and what was expected.
func (j OutcomeJSON) Outcome() (Outcome, string, error) {
	o := Outcome{Kind: j.Kind, Bound: j.Bound, Choice: j.Choice}
	if err := j.check(); err != nil {
		return Outcome{}, "", err
	}
	v, err := j.value()
	if err != nil {
		return Outcome{}, "", err
	}
	o.Value = v
	if j.Kind == KindInterval {
		o.Lo, o.Hi = *j.Lo, *j.Hi
	}
	if j.CI != nil {
		ci := *j.CI
		o.CI = &ci
	}
	if j.Level != nil {
		o.Level = *j.Level
	}
	return o, j.Unit, nil
}

// check looks at everything but the value and its sources.
func (j OutcomeJSON) check() error {
	switch j.Kind {
	case KindValue, KindBound, KindCount:
		if j.Value == nil {
			return fmt.Errorf("kind %q without \"value\"", j.Kind)
		}
		if j.Kind == KindBound && j.Bound != MoreThan && j.Bound != LessThan {
			return fmt.Errorf("bound is %q, expected %q or %q", j.Bound, MoreThan, LessThan)
		}
	case KindInterval:
		if j.Lo == nil || j.Hi == nil {
			return errors.New("kind \"interval\" without \"lo\" and \"hi\"")
		}
		if err := ordered("lo, hi", *j.Lo, *j.Hi); err != nil {
			return err
		}
	case KindChoice:
		if j.Choice == "" {
			return errors.New("kind \"choice\" without \"choice\"")
		}
	default:
		return fmt.Errorf("kind is %q, expected value, interval, bound, count or choice", j.Kind)
	}
	return j.checkCI()
}

func (j OutcomeJSON) checkCI() error {
	if j.Level != nil && !(*j.Level > 0 && *j.Level < 1) {
		return fmt.Errorf("level is %v, expected a fraction between 0 and 1 such as 0.95", *j.Level)
	}
	if j.CI == nil {
		return nil
	}
	if j.Level == nil {
		return errors.New("\"ci\" without \"level\"")
	}
	return ordered("ci", j.CI[0], j.CI[1])
}

func ordered(what string, lo, hi float64) error {
	if !finite(lo) || !finite(hi) || lo > hi {
		return fmt.Errorf("%s are %v and %v, expected two finite numbers, the lower first", what, lo, hi)
	}
	return nil
}

// value reads estimate and sources, and checks u against the sources.
func (j OutcomeJSON) value() (Value, error) {
	if j.Value == nil {
		if len(j.Sources) > 0 {
			return Value{}, errors.New("\"sources\" without \"value\"")
		}
		return Value{}, nil
	}
	if !finite(*j.Value) {
		return Value{}, fmt.Errorf("value is %v, expected a finite number", *j.Value)
	}
	parts, err := contributions(j.Sources)
	if err != nil {
		return Value{}, err
	}
	v := New(*j.Value, parts...)
	u := v.U()
	if !finite(u) {
		return Value{}, fmt.Errorf("u is %v, expected a finite number", u)
	}
	if j.U != nil && !(math.Abs(*j.U-u) <= 1e-6*math.Max(u, *j.U)) {
		return Value{}, fmt.Errorf("u is %v, but the sources give %v; every uncertainty needs a source", *j.U, u)
	}
	return v, nil
}

func contributions(sources []SourceJSON) ([]Contribution, error) {
	seen := map[string]bool{}
	var parts []Contribution
	for i, s := range sources {
		switch {
		case s.ID == "":
			return nil, fmt.Errorf("source %d has no id", i+1)
		case !utf8.ValidString(s.ID) || !utf8.ValidString(s.Name):
			return nil, fmt.Errorf("source %q: id and name must be valid UTF-8 text", s.ID)
		case seen[s.ID]:
			return nil, fmt.Errorf("source %q is given twice", s.ID)
		case !finite(s.C):
			return nil, fmt.Errorf("source %q: c is %v, expected a finite number", s.ID, s.C)
		case s.DoF != nil && !(*s.DoF > 0 && finite(*s.DoF)):
			return nil, fmt.Errorf("source %q: dof is %v, expected more than 0 (leave it out for infinitely many)", s.ID, *s.DoF)
		}
		seen[s.ID] = true
		p := Contribution{Source: Source{ID: s.ID, Name: s.Name}, C: s.C}
		if s.DoF != nil {
			p.DoF = *s.DoF
		}
		parts = append(parts, p)
	}
	return parts, nil
}

// MarshalJSON writes a value as the fields value, u, dof and sources of
// [OutcomeJSON].
func (v Value) MarshalJSON() ([]byte, error) {
	j, err := EncodeOutcome(Known(v), "")
	if err != nil {
		return nil, err
	}
	return json.Marshal(j)
}

// UnmarshalJSON reads what [Value.MarshalJSON] writes; the kind may be absent.
func (v *Value) UnmarshalJSON(data []byte) error {
	j := OutcomeJSON{Kind: KindValue}
	if err := json.Unmarshal(data, &j); err != nil {
		return err
	}
	if j.Kind != KindValue {
		return fmt.Errorf("kind is %q, expected \"value\"", j.Kind)
	}
	o, _, err := j.Outcome()
	if err != nil {
		return err
	}
	*v = o.Value
	return nil
}
