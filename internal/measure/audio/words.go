package audio

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// sentences says the result, the response first.
func (w *work) sentences() []string {
	var out []string
	for _, method := range []string{"tones", "programme"} {
		if s := w.responseSentence(method); s != "" {
			out = append(out, s)
		}
	}
	var parts []string
	if f := w.loudest("thd"); f != nil {
		parts = append(parts, fmt.Sprintf("distortion %s at %s Hz and %s %% modulation", words(*f), f.Conditions["tone_hz"], f.Conditions["modulation_pct"]))
	}
	if f := w.first("sinad_max"); f != nil {
		parts = append(parts, "best SINAD "+words(*f))
	} else if f := w.loudest("sinad"); f != nil {
		parts = append(parts, "SINAD "+words(*f))
	}
	if f := w.first("hum"); f != nil {
		parts = append(parts, "hum "+words(*f)+" below the reference output")
	}
	if len(parts) > 0 {
		out = append(out, measure.Capital(strings.Join(parts, "; "))+".")
	}
	if f := w.first("audio_power"); f != nil {
		out = append(out, fmt.Sprintf("It gives %s at %s %% distortion%s.", words(*f), f.Conditions["thd_pct"], into(f.Conditions["load_ohm"])))
	}
	if f := w.first("incoherent_share"); f != nil {
		out = append(out, fmt.Sprintf("Of the output on a programme %s does not follow the modulation: noise, hum and distortion together; distortion alone is not more.", words(*f)))
	}
	return out
}

func into(load string) string {
	if load == "" {
		return ""
	}
	return " into " + load + " Ω"
}

// responseSentence says from where to where the response reaches.
func (w *work) responseSentence(method string) string {
	var low, high *run.Figure
	for i := range w.out.Figures {
		f := &w.out.Figures[i]
		if f.Conditions["method"] != method {
			continue
		}
		switch f.ID {
		case "audio_low":
			low = f
		case "audio_high":
			high = f
		}
	}
	by := map[string]string{"tones": "", "programme": " by the programme"}[method]
	switch {
	case low != nil && high != nil:
		return fmt.Sprintf("The response%s is down by %s dB at %s and at %s.", by, plain(w.set.edgeDB), words(*low), words(*high))
	case high != nil:
		return fmt.Sprintf("The response%s is down by %s dB at %s.", by, plain(w.set.edgeDB), words(*high))
	case low != nil:
		return fmt.Sprintf("The response%s is down by %s dB at %s.", by, plain(w.set.edgeDB), words(*low))
	}
	return ""
}

// first finds a figure given so far.
func (w *work) first(id string) *run.Figure {
	for i := range w.out.Figures {
		if w.out.Figures[i].ID == id {
			return &w.out.Figures[i]
		}
	}
	return nil
}

// loudest is the figure of a tone nearest to the reference depth.
func (w *work) loudest(id string) *run.Figure {
	var best *run.Figure
	cost := math.Inf(1)
	for i := range w.out.Figures {
		f := &w.out.Figures[i]
		if f.ID != id {
			continue
		}
		m, err := strconv.ParseFloat(f.Conditions["modulation_pct"], 64)
		if c := math.Abs(m - w.set.depthPct); err == nil && c < cost {
			best, cost = f, c
		}
	}
	return best
}

func words(f run.Figure) string { return quantity.FormatOutcome(f.Outcome, f.Unit) }

func hertz(x float64) string { return quantity.Printer{}.Told(x, "Hz", 3) }

// short prints a number that is only told, to a hundredth.
func short(x float64) string { return quantity.FormatNumber(math.Round(x*100)/100, "1") }

// plain prints a number for a condition: shortest form, ASCII.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// twoDigits keeps two significant digits: 997 Hz and 1003 Hz are a tone of 1 kHz.
func twoDigits(x float64) float64 {
	if !(x > 0) || math.IsInf(x, 0) {
		return x
	}
	p := math.Pow(10, math.Floor(math.Log10(x))-1)
	return math.Round(math.Round(x/p)*p*1e6) / 1e6
}

func plural(n int, one, many string) string {
	switch n {
	case 0:
		return "no " + one
	case 1:
		return "one " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func titleOf(id string) string {
	for _, f := range figures {
		if f.ID == id {
			return f.Title
		}
	}
	return id
}

func name(rec measure.Recording) string {
	if rec.Name != "" {
		return rec.Name
	}
	return "a recording of the " + rec.Role + " kind"
}
