package selectivity

import (
	"fmt"
	"math"

	"setwright/internal/run"
	"setwright/quantity"
)

// sentences say the result, most important first.
func (w *work) sentences() []string {
	out := []string{w.widthSentence()}
	for _, s := range []string{w.placeSentence(), w.topSentence(), w.notchSentence()} {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

func words(f *run.Figure) string {
	o := f.Outcome
	if o.Kind == quantity.KindValue && o.Value.U() > 0 {
		o.CI = nil // a sentence has room for one uncertainty
	}
	return quantity.FormatOutcome(o, f.Unit)
}

// widthSentence says both widths and their ratio.
func (w *work) widthSentence() string {
	six, sixty, factor := w.figure("bandwidth_6", ""), w.figure("bandwidth_60", ""), w.figure("shape_factor", "")
	s := fmt.Sprintf("The passband is %s wide 6 dB down", words(six))
	if sixty.Kind == quantity.KindValue {
		s += fmt.Sprintf(" and %s wide 60 dB down", words(sixty))
	} else {
		s += fmt.Sprintf("; 60 dB down, out of reach of the data, it is %s wide", words(sixty))
	}
	if factor != nil {
		s += fmt.Sprintf(": a shape factor of %s", words(factor))
	}
	return s + "."
}

// placeSentence says where the passband lies and what noise it lets through.
func (w *work) placeSentence() string {
	s := ""
	if f := w.figure("noise_bandwidth", ""); f != nil {
		s = fmt.Sprintf("For noise it is %s wide.", words(f))
	}
	f := w.figure("centre_offset", "")
	if f == nil {
		return s
	}
	x, u := f.Value.Estimate(), f.Value.Expanded(0.95)
	side := "above"
	if x < 0 {
		side = "below"
	}
	size := quantity.FormatOutcome(f.Outcome.Abs(), "Hz")
	if math.Abs(x) < u {
		return s + fmt.Sprintf(" Its middle lies on the nominal frequency within %s.", quantity.Printer{}.Told(math.Abs(x)+u, "Hz", 2))
	}
	return s + fmt.Sprintf(" Its middle lies %s %s the nominal frequency.", size, side)
}

// topSentence says whether there is one hump, and whether the curve leans.
func (w *work) topSentence() string {
	f := w.figure("ripple", "")
	if f == nil {
		return ""
	}
	s := fmt.Sprintf("It has one hump: no valley deeper than %s.", quantity.Printer{}.Told(w.r.Hidden, "dB", 2))
	if w.r.Ripple.Depth > 0 {
		s = fmt.Sprintf("It has a valley of %s between two humps.", words(f))
	}
	for _, down := range []string{"6", "60"} {
		k := w.figure("skew", down)
		if k == nil || math.Abs(k.Value.Estimate()) < 0.05 || math.Abs(k.Value.Estimate()) < k.Value.Expanded(0.95) {
			continue
		}
		side := "upper"
		if k.Value.Estimate() < 0 {
			side = "lower"
		}
		s += fmt.Sprintf(" %s dB down it leans to the %s side, by %.0f %% of its width.", down, side, 100*math.Abs(k.Value.Estimate()))
	}
	return s
}

// notchSentence tells of the notch.
func (w *work) notchSentence() string {
	depth, offset := w.figure("notch_depth", ""), w.figure("notch_offset", "")
	if depth == nil {
		return ""
	}
	s := fmt.Sprintf("There is a notch, %s down", words(depth))
	if offset == nil {
		return s + "."
	}
	if offset.Kind == quantity.KindValue {
		side := "above"
		if offset.Value.Estimate() < 0 {
			side = "below"
		}
		return s + fmt.Sprintf(", %s %s the middle of the top.", quantity.FormatOutcome(offset.Outcome.Abs(), "Hz"), side)
	}
	return s + fmt.Sprintf(", %s from the middle of the top.", words(offset))
}
