package agc

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"setwright/internal/run"
	"setwright/quantity"
)

// sentences says the result, static first.
func (w *work) sentences() []string {
	var out []string
	if s := w.staticSentence(); s != "" {
		out = append(out, s)
	}
	return append(out, w.dynamicSentences()...)
}

func (w *work) staticSentence() string {
	var parts []string
	if f := w.figure("agc_spread", "", ""); f != nil {
		parts = append(parts, fmt.Sprintf("from %s to %s dBm of input the output changes by %s", minus(f.Conditions["from_dbm"]), minus(f.Conditions["to_dbm"]), words(*f)))
	}
	if f := w.figure("agc_merit", "", ""); f != nil {
		parts = append(parts, fmt.Sprintf("it takes a fall of %s from %s of EMF to lower it by %s dB", words(*f), voltsOf(f.Conditions["reference_v"]), f.Conditions["drop_db"]))
	}
	if f := w.figure("agc_knee", "", ""); f != nil {
		parts = append(parts, "the AGC takes hold at "+words(*f))
	}
	if len(parts) == 0 {
		return ""
	}
	text := strings.Join(parts, "; ")
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

func voltsOf(text string) string {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text + " V"
	}
	return quantity.Printer{}.Told(v, "V", 3)
}

// minus puts a true minus sign into a number in ASCII.
func minus(text string) string { return strings.Replace(text, "-", "−", 1) }

func words(f run.Figure) string { return quantity.FormatOutcome(f.Outcome, f.Unit) }

// short prints a number that is only told, to a tenth.
func short(x float64) string {
	return quantity.FormatNumber(math.Round(x*100)/100, "1")
}

// plain prints a number for a condition: shortest form, ASCII.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func plural(n int, one, many string) string {
	switch n {
	case 0:
		return "no " + one
	case 1:
		return "one " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
