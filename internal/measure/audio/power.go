package audio

import (
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// loud is the output and its distortion at one setting of the volume.
type loud struct {
	watts, wattsU float64 // relative uncertainty in wattsU, its own
	thd, thdU     float64 // fractions
	common        []quantity.Contribution
}

// powerFigure adds the power at which the distortion reaches the limit, between
// the settings on both sides of it.
func (w *work) powerFigure() {
	all, why := w.loudness()
	if len(all) == 0 {
		if why != "" {
			w.note("audio power is not given: %s", why)
		}
		return
	}
	sort.Slice(all, func(i, j int) bool { return all[i].watts < all[j].watts })
	limit := w.set.limitPct / 100
	f := run.Figure{ID: "audio_power", Unit: "W", Conditions: map[string]string{"thd_pct": plain(w.set.limitPct)},
		Details: []run.Detail{run.Number("settings", "count", float64(len(all)))}}
	if w.set.loadOhm > 0 {
		f.Conditions["load_ohm"] = plain(w.set.loadOhm)
	}
	w.powerPlot(all, limit)
	i := 0
	for i < len(all) && all[i].thd < limit {
		i++
	}
	switch {
	case i == len(all):
		f.Outcome = quantity.Above(all[i-1].value(w))
		f.Details = append(f.Details, run.Number("distortion_there", "%", 100*all[i-1].thd), run.Text("why", "the distortion stays below the limit up to the highest output"))
	case i == 0:
		f.Outcome = quantity.Below(all[0].value(w))
		f.Details = append(f.Details, run.Number("distortion_there", "%", 100*all[0].thd), run.Text("why", "the distortion is above the limit from the lowest output on"))
	default:
		f.Outcome = quantity.Known(w.between(all[i-1], all[i], limit))
	}
	w.add(f)
}

func (l loud) value(w *work) quantity.Value {
	return quantity.New(l.watts, part(w.sources.noise, l.watts*l.wattsU, 0)).With(l.common...)
}

// between is the power at the limit, straight in the logarithms of power and of
// distortion.
func (w *work) between(a, b loud, limit float64) quantity.Value {
	floor := 1e-5 // a meter that shows nothing
	la, lb := math.Log(math.Max(a.thd, floor)), math.Log(b.thd)
	q := (math.Log(limit) - la) / (lb - la)
	span := math.Log(b.watts / a.watts)
	p := a.watts * math.Exp(q*span)
	slope := math.Abs(span / (lb - la))
	relative := math.Hypot(slope*math.Hypot((1-q)*a.thdU/math.Max(a.thd, floor), q*b.thdU/b.thd), math.Hypot((1-q)*a.wattsU, q*b.wattsU))
	// distortion sets in with a bend somewhere between the two
	v := quantity.New(p, part(w.sources.noise, p*relative, 0), part(w.sources.between, p*0.15*math.Abs(span), 0))
	for _, c := range b.common {
		v = v.With(quantity.Contribution{Source: c.Source, C: c.C / b.watts * p})
	}
	return v
}

// loudness gathers settings from readings with distortion and from recordings
// of the reference tone with volts; why says what is missing.
func (w *work) loudness() (all []loud, why string) {
	list, unit, _ := w.takeReadings()
	for _, r := range list {
		if math.IsNaN(r.distortion) {
			continue
		}
		p, ok := w.watts(r.output, unit)
		if !ok {
			return nil, "found readings of distortion with outputs in " + unit + ", expected volts with the load stated, or watts"
		}
		factor := 2.0
		if unit == "W" {
			factor = 1
		}
		// a distortion meter is taken as right within a twentieth, common practice, no source
		all = append(all, loud{watts: p, wattsU: factor * w.set.readingU * math.Ln10 / 20, thd: r.distortion, thdU: 0.05 * r.distortion, common: w.meter(p, factor)})
	}
	if len(all) > 0 {
		return all, ""
	}
	return w.loudTones()
}

// meter is the error of the output meter that all readings share.
func (w *work) meter(watts, factor float64) []quantity.Contribution {
	var out []quantity.Contribution
	for _, in := range w.raw.Setup.Instruments {
		if in.Reads == "output" && in.Relative > 0 {
			key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Quantity: "output", Cell: in.Cell}
			out = append(out, quantity.Contribution{Source: key.Source("scale of "+in.Name, in.DoF), C: factor * watts * in.Relative})
		}
	}
	return out
}

// loudTones are the settings from recordings.
func (w *work) loudTones() (all []loud, why string) {
	asked := false
	for _, h := range w.tones {
		if !w.isReference(h) {
			continue
		}
		rms := math.Sqrt(h.tone.Power * (1 + sq(h.tone.THD)))
		volts, parts, ok := h.scale.Volts(rms)
		if h.outputV > 0 {
			volts, parts, ok = h.outputV, nil, true
		}
		if !ok {
			continue
		}
		asked = true
		if !(w.set.loadOhm > 0) {
			continue
		}
		p := volts * volts / w.set.loadOhm
		l := loud{watts: p, wattsU: 2 * w.set.readingU * math.Ln10 / 20, thd: h.tone.THD, thdU: h.tone.THDU}
		if h.outputV > 0 {
			l.common = w.meter(p, 2)
		} else {
			l.wattsU = h.tone.PowerU / h.tone.Power
			for _, c := range parts {
				l.common = append(l.common, quantity.Contribution{Source: c.Source, C: 2 * c.C / volts * p})
			}
		}
		all = append(all, l)
		w.out.Stretches = append(w.out.Stretches, measure.Stretch{Recording: h.index, FromS: 0, ToS: h.rec.DurationS(), Label: "power step", Figures: []string{"audio_power"}})
	}
	if len(all) == 0 && asked {
		return nil, "found volts but no load, expected the load in ohms among the options"
	}
	return all, ""
}
