package drift

import (
	"fmt"
	"math"
	"strings"

	"setwright/internal/run"
	"setwright/quantity"
)

// sentences says the result in two plain sentences: how it warms up, and how it
// stays.
func (w *work) sentences() []string {
	return []string{w.warmUpSentence(), w.afterwardsSentence()}
}

// warmUpSentence says when the set has settled, and how far it moved.
func (w *work) warmUpSentence() string {
	moved := ""
	if f := w.figure("excursion", ""); f != nil {
		moved = words(*f)
	}
	band, f := w.bestSettling()
	who := map[string]string{"local": "The local oscillator", "bfo": "The beat oscillator", "set": "The set"}[w.set.oscillator]
	if who == "" {
		who = "The oscillator"
	}
	switch {
	case f == nil:
		return fmt.Sprintf("%s: too few readings to say when it settles%s.", who, behind("; it moved ", moved))
	case f.Kind == quantity.KindInterval && f.Lo == 0 && f.Hi <= math.Max(w.a.TimeS[0], 2*w.sources.powerOnUS):
		return fmt.Sprintf("%s was within ±%s of its closing value from the first reading on%s.", who, band, behind(", and moved ", moved))
	case f.Kind == quantity.KindBound:
		return fmt.Sprintf("%s has not settled to ±%s within this record: it needs %s%s.", who, band, words(*f), behind(", having moved ", moved))
	}
	return fmt.Sprintf("%s takes %s from power-on to settle to within ±%s%s.", who, words(*f), band, behind(", and moves ", moved))
}

// behind puts a text behind its lead; nothing for none.
func behind(lead, text string) string {
	if text == "" {
		return ""
	}
	return lead + text
}

// afterwardsSentence says how steady it is after that.
func (w *work) afterwardsSentence() string {
	var parts []string
	if f := w.figure("residual_drift", ""); f != nil {
		parts = append(parts, "drifts on by "+words(*f))
	}
	if f := w.figure("wander", ""); f != nil {
		upTo := "up to "
		if f.Kind == quantity.KindBound {
			upTo = ""
		}
		parts = append(parts, "wanders by "+upTo+words(*f)+" in ten minutes")
	}
	if len(w.a.Jumps) > 0 {
		parts = append(parts, w.jumpWords())
	}
	if len(parts) == 0 {
		return fmt.Sprintf("What it does afterwards cannot be told from %s over %s; log an hour or more after it has settled.",
			plural(len(w.a.TimeS), "reading", "readings"), quantity.Printer{}.Elapsed(w.a.HorizonS))
	}
	return "It " + joinAnd(parts) + "."
}

// jumpWords says how many jumps there are, and where to look if the largest is
// large enough to be heard: a tenth of the smallest band.
func (w *work) jumpWords() string {
	big, smallest := w.a.Jumps[0], math.Inf(1)
	for _, j := range w.a.Jumps {
		if math.Abs(j.SizeHz) > math.Abs(big.SizeHz) {
			big = j
		}
	}
	for _, b := range w.set.bandsHz {
		smallest = math.Min(smallest, b)
	}
	n, largest, step := len(w.a.Jumps), "the largest ", 6.0
	if n == 1 {
		largest = ""
	}
	if big.TimeS < 600 {
		step = 1
	}
	text := fmt.Sprintf("makes %s, %sof %s at %s", plural(n, "jump", "jumps"), largest,
		quantity.FormatNumber(twoDigits(big.SizeHz), "Hz"), quantity.Printer{}.Elapsed(math.Round(big.TimeS/step)*step))
	if math.Abs(big.SizeHz) < smallest/10 {
		return text + fmt.Sprintf(": too small to matter in ±%s", quantity.FormatNumber(smallest, "Hz"))
	}
	return text + ": look for a bad joint, a slipping dial or a failing mica capacitor"
}

// bestSettling is the settling time to the smallest band that was reached, else
// the bound of the widest.
func (w *work) bestSettling() (band string, f *run.Figure) {
	for _, s := range w.a.Settling {
		got := w.figure("settling_time", plain(s.BandHz))
		if got == nil {
			continue
		}
		if f == nil || got.Kind != quantity.KindBound {
			band, f = quantity.FormatNumber(s.BandHz, "Hz"), got
		}
	}
	return band, f
}

// figure finds a figure given so far.
func (w *work) figure(id, band string) *run.Figure {
	for i := range w.out.Figures {
		f := &w.out.Figures[i]
		if f.ID == id && (band == "" || f.Conditions["band_hz"] == band) {
			return f
		}
	}
	return nil
}

func words(f run.Figure) string {
	o := f.Outcome
	if o.Kind == quantity.KindValue && o.CI != nil && o.CI[0] <= 0 && o.Value.Estimate() > 0 {
		// no more than noise makes
		return quantity.FormatOutcome(quantity.Below(quantity.Exact(upToTwoDigits(o.CI[1]))), f.Unit)
	}
	if o.Kind == quantity.KindValue && o.Value.U() > 0 {
		o.CI = nil // a sentence has room for one uncertainty
	}
	return quantity.FormatOutcome(o, f.Unit)
}

// upToTwoDigits rounds a positive limit up to two digits.
func upToTwoDigits(x float64) float64 {
	if r := twoDigits(x); r >= x {
		return r
	}
	return twoDigits(1.05 * x)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "one " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func joinAnd(parts []string) string {
	if len(parts) == 1 {
		return parts[0]
	}
	return strings.Join(parts[:len(parts)-1], ", ") + " and " + parts[len(parts)-1]
}
