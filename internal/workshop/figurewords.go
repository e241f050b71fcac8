package workshop

import (
	"fmt"
	"sort"
	"strconv"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// printer prints quantities in what people read: thin spaces between thousands.
var printer = quantity.Printer{Group: true}

// FigureRemark is the detail of a figure that a reader needs beside it: why it
// is only a bound, which noise, when the jumps were. Empty where there is none.
func FigureRemark(f run.Figure) string {
	var parts []string
	jumps := 0
	for _, d := range f.Details {
		switch {
		case d.ID == "why":
			parts = append(parts, d.Text)
		case d.ID == "predicted" && f.Kind == quantity.KindBound && d.Value != nil:
			parts = append(parts, "the fitted curve says "+printer.Elapsed(*d.Value))
		case d.ID == "noise" && strings.HasSuffix(f.ID, "_deviation"):
			parts = append(parts, d.Text)
		case d.ID == "jump":
			if jumps++; jumps <= jumpsTold {
				parts = append(parts, jumpWords(d))
			}
		}
	}
	if more := jumps - jumpsTold; more > 0 {
		parts = append(parts, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(parts, "; ")
}

// jumpsTold is how many jumps are told one by one; the JSON object has them all.
const jumpsTold = 4

// jumpWords says one jump: its size and when.
func jumpWords(d run.Detail) string {
	var at, size string
	for _, p := range d.Parts {
		switch {
		case p.ID == "time" && p.Value != nil:
			at = printer.Elapsed(*p.Value)
		case p.ID == "size" && p.Value != nil:
			v := quantity.Exact(*p.Value)
			if p.U != nil {
				v = v.With(quantity.Contribution{C: *p.U})
			}
			size = printer.Format(v, "Hz")
		}
	}
	return size + " at " + at
}

// toldNumber prints a number that is only told, to three digits.
func toldNumber(x float64, unit string) string {
	return printer.Told(x, unit, 3)
}

// SharedConditions lists the conditions that all figures have in common, in
// words: "dial 7.9 MHz", "first 2 h from power-on".
func SharedConditions(figures []run.Figure) []string {
	if len(figures) == 0 {
		return nil
	}
	var out []string
	for name, value := range figures[0].Conditions {
		if _, inTitle := conditionForms[name]; inTitle || name == "taken" {
			continue
		}
		common := value != ""
		for _, f := range figures {
			common = common && f.Conditions[name] == value
		}
		if common {
			out = append(out, ConditionText(name, value))
		}
	}
	sort.Strings(out)
	return out
}

// conditionTitles are the names of conditions that are not written as they are
// stored.
var conditionTitles = map[string]string{
	"agc": "AGC", "bfo": "BFO", "filter": "selectivity setting", "gain_control": "RF gain control", "limiter": "noise limiter", "dummy": "dummy antenna",
}

// shortConditions are conditions that are said in other words altogether.
var shortConditions = map[string]string{"dummy none": "no dummy antenna", "mode am": "AM", "mode cw": "CW", "mode sinad": "SINAD"}

// ConditionText prints a condition; the unit at the end of its name becomes the
// unit of the number.
func ConditionText(name, value string) string {
	if name == "oscillator" && watched[value] != "" {
		return watched[value]
	}
	if text, ok := shortConditions[name+" "+value]; ok {
		return text
	}
	if title, ok := conditionTitles[name]; ok {
		return title + " " + value
	}
	for suffix, unit := range map[string]string{"_s": "s", "_hz": "Hz"} {
		base, ok := strings.CutSuffix(name, suffix)
		x, err := strconv.ParseFloat(value, 64)
		if ok && err == nil && base == horizon {
			return horizonWords(x)
		}
		if ok && err == nil {
			return strings.ReplaceAll(base, "_", " ") + " " + toldIn(x, unit)
		}
	}
	if text, ok := withUnit(name, value); ok {
		return text
	}
	return strings.ReplaceAll(name, "_", " ") + " " + value
}

// AsideWords says which reading took no part, and why; when it was taken, where
// the readings have times.
func AsideWords(s measure.SetAside) string {
	at := ""
	if s.TimeS != 0 {
		at = " at " + printer.Elapsed(s.TimeS)
	}
	return fmt.Sprintf("reading %d%s, %s: %s", s.Row+1, at, printer.Format(quantity.Exact(s.Value), s.Unit), s.Reason)
}

// RunCondition is one circumstance of a run, in words.
type RunCondition struct{ Title, Text string }

// Conditions lists the circumstances a run was made under: the options that are
// conditions, as they were recorded (or the median of the column of that role).
func (r Result) Conditions() []RunCondition {
	var out []RunCondition
	for _, o := range r.About.Options {
		if !o.Condition {
			continue
		}
		text := r.Raw.Circumstance(r.About, measure.FairSpec{Name: o.Name, Unit: o.Unit})
		if text == "" {
			continue
		}
		if x, err := measure.ParseNumber(text, o.Unit); o.Unit != "" && err == nil {
			text = toldIn(x, o.Unit)
		}
		out = append(out, RunCondition{o.Title, text})
	}
	return out
}

// toldIn prints a circumstance: frequencies with all their digits, the rest to
// three.
func toldIn(x float64, unit string) string {
	if unit == "Hz" {
		return printer.Format(quantity.Exact(x), unit)
	}
	if unit == "s" {
		return printer.Elapsed(x)
	}
	return toldNumber(x, unit)
}

// horizon is the name of the option and condition that says how much of a record
// was looked at.
const horizon = "horizon"

func horizonWords(seconds float64) string {
	return "first " + printer.Elapsed(seconds) + " from power-on"
}

// watched says which oscillator a figure is of.
var watched = map[string]string{"local": "local oscillator", "bfo": "beat oscillator", "set": "the whole set"}
