// Package settings reads the options of a run and the labels of its recordings
// for a measurement: as numbers in the unit of the option's spec, or as words.
// What does not parse is refused with the option's name and an example.
package settings

import (
	"fmt"
	"math"

	"setwright/internal/measure"
)

// Reader reads options and keeps the first thing that is wrong.
type Reader struct {
	raw   measure.Raw
	about measure.About
	err   error
}

// New returns a reader of the options of a run.
func New(raw measure.Raw, about measure.About) *Reader { return &Reader{raw: raw, about: about} }

// Err is the first thing that was wrong, a *measure.Refusal, or nil.
func (r *Reader) Err() error { return r.err }

// Word returns an option as text, its default where it is not given.
func (r *Reader) Word(name string) string {
	text := r.raw.Option(r.about, name)
	if text == "" {
		return ""
	}
	if err := r.spec(name).Check(text); err != nil {
		r.refuse(err)
	}
	return text
}

// Number returns an option as a number in its unit, NaN where it is not given.
func (r *Reader) Number(name string) float64 {
	all := r.Numbers(name)
	if len(all) == 0 {
		return math.NaN()
	}
	return all[0]
}

// Numbers returns an option that takes several numbers, in its unit.
func (r *Reader) Numbers(name string) []float64 {
	text := r.raw.Option(r.about, name)
	spec := r.spec(name)
	if text == "" {
		return nil
	}
	if err := spec.Check(text); err != nil {
		r.refuse(err)
		return nil
	}
	var out []float64
	for _, part := range spec.Parts(text) {
		x, err := measure.ParseNumber(part, spec.Unit)
		if err != nil {
			r.refuse(fmt.Errorf("%s: found %q, expected something like %s", spec.Title, part, spec.Example))
			return nil
		}
		out = append(out, x)
	}
	return out
}

func (r *Reader) refuse(err error) {
	if r.err == nil {
		r.err = &measure.Refusal{Found: "an option that cannot be read (" + err.Error() + ")", Row: -1}
	}
}

func (r *Reader) spec(name string) measure.OptionSpec {
	for _, o := range r.about.Options {
		if o.Name == name {
			return o
		}
	}
	return measure.OptionSpec{Name: name, Title: name}
}

// Label returns a label of a recording as a number in its unit, its default
// where it is not written, NaN where there is none. A label that does not parse
// gives NaN and the reason.
func Label(rec measure.Recording, spec measure.RecordingSpec, name string) (float64, error) {
	text := rec.Label(spec, name)
	if text == "" {
		return math.NaN(), nil
	}
	for _, l := range spec.Labels {
		if l.Name != name {
			continue
		}
		x, err := measure.ParseNumber(text, l.Unit)
		if err != nil {
			return math.NaN(), fmt.Errorf("%s of %s: found %q, expected something like %s", l.Title, rec.Name, text, l.Example)
		}
		return x, nil
	}
	return math.NaN(), fmt.Errorf("%s has no label %q", spec.Title, name)
}
