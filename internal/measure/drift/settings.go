package drift

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"setwright/internal/measure"
	"setwright/stability"
)

// settings are the options of an analysis, read and checked.
type settings struct {
	powerOnS   float64 // on the record's time scale; NaN: the first sample
	powerOnUS  float64
	oscillator string
	beatSense  string  // "rises", "falls", "unknown" or empty
	beatHz     float64 // about where a recorded beat note begins
	dialHz     float64 // NaN where not given, as the rest
	ifHz       float64
	nominalHz  float64
	timebase   float64 // standard uncertainty as a fraction; NaN where not known
	bandsHz    []float64
	horizonS   float64
	windowS    float64
	kinds      []stability.Kind
}

// read parses the options of a run; a wrong one is refused with its name.
func read(raw measure.Raw) (settings, error) {
	about := Measurement{}.About()
	p := parser{raw: raw, about: about}
	s := settings{
		powerOnS:   p.number("power_on"),
		powerOnUS:  p.number("power_on_u"),
		oscillator: raw.Option(about, "oscillator"),
		beatSense:  raw.Option(about, "beat_sense"),
		beatHz:     p.number("beat"),
		dialHz:     p.number("dial"),
		ifHz:       p.number("if"),
		nominalHz:  p.number("nominal"),
		timebase:   p.number("timebase"),
		bandsHz:    p.numbers("bands"),
		horizonS:   p.number("horizon"),
		windowS:    p.number("window"),
		kinds:      p.kinds("allan"),
	}
	if math.IsNaN(s.ifHz) && raw.IFHz > 0 {
		s.ifHz = raw.IFHz
	}
	for _, b := range s.bandsHz {
		if b <= 0 {
			p.refuse("bands", fmt.Sprintf("a half-width of %g Hz", b), "half-widths above zero")
		}
	}
	sort.Sort(sort.Reverse(sort.Float64Slice(s.bandsHz)))
	return s, p.err
}

// parser reads options and keeps the first error.
type parser struct {
	raw   measure.Raw
	about measure.About
	err   error
}

func (p *parser) refuse(name, found, expected string) {
	if p.err == nil {
		p.err = &measure.Refusal{Found: fmt.Sprintf("%s in the option %q", found, name), Expected: expected, Row: -1}
	}
}

// number returns an option as a number, NaN where it is not given.
func (p *parser) number(name string) float64 {
	all := p.numbers(name)
	if len(all) == 0 {
		return math.NaN()
	}
	return all[0]
}

// numbers returns an option as numbers in its unit.
func (p *parser) numbers(name string) []float64 {
	text := p.raw.Option(p.about, name)
	if text == "" {
		return nil
	}
	spec := p.spec(name)
	var out []float64
	for _, part := range spec.Parts(text) {
		x, err := measure.ParseNumber(part, spec.Unit)
		if err != nil {
			p.refuse(name, fmt.Sprintf("%q", part), "something like "+spec.Example)
			return nil
		}
		out = append(out, x)
	}
	return out
}

func (p *parser) spec(name string) measure.OptionSpec {
	for _, o := range p.about.Options {
		if o.Name == name {
			return o
		}
	}
	return measure.OptionSpec{Name: name}
}

// kinds reads a list of deviations.
func (p *parser) kinds(name string) []stability.Kind {
	var out []stability.Kind
	for _, word := range p.spec(name).Parts(p.raw.Option(p.about, name)) {
		k, err := stability.ParseKind(strings.ToLower(word))
		if err != nil {
			p.refuse(name, fmt.Sprintf("%q", word), "some of "+strings.Join(p.spec(name).Choices, ", "))
			return nil
		}
		out = append(out, k)
	}
	return out
}
