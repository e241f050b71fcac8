package sensitivity

import (
	"fmt"
	"math"

	"setwright/internal/run"
	"setwright/quantity"
	"setwright/superhet"
)

// reachDB is how far past the readings' levels a level is still read off the
// curve; farther off it is a bound.
const reachDB = 1.0

// levels adds the input levels at which the targets of the mode are reached.
func (w *work) levels() {
	if len(w.fits) == 0 {
		return
	}
	for _, t := range targets(w.set.mode) {
		w.level(t)
	}
	w.levelNotes()
}

// level adds one of them: a value where readings lie on both sides or close by,
// else a bound.
func (w *work) level(t target) {
	best := w.fits[0]
	lo, hi := w.span()
	dbm, u, ok := best.levelAt(t.dB)
	switch {
	case !ok || dbm > hi+reachDB:
		why := fmt.Sprintf("%s is not reached at the highest level used", told(t.dB, "dB"))
		if !ok {
			why = fmt.Sprintf("the curve stops rising at %s: hum, residual noise or distortion", told(best.at(hi+60, best.params), "dB"))
		}
		w.bound(t, quantity.Above, hi, why)
	case dbm < lo-reachDB:
		w.bound(t, quantity.Below, lo, fmt.Sprintf("the lowest level used gives more than %s already", told(t.dB, "dB")))
	default:
		w.value(t, dbm, u)
	}
}

// span is the lowest and highest level of the readings.
func (w *work) span() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range w.points {
		lo, hi = math.Min(lo, p.dBm), math.Max(hi, p.dBm)
	}
	return lo, hi
}

// value adds a level that the readings give.
func (w *work) value(t target, dbm, u float64) {
	best := w.fits[0]
	dof := 0.0
	if best.byScatter(w.readingKnown()) {
		dof = float64(best.dof)
	}
	v := quantity.New(dbm, quantity.Contribution{Source: withDoF(w.sources.readings, dof), C: u})
	if c := w.lawU(t); c > 0 {
		v = v.With(quantity.Contribution{Source: w.sources.law, C: c})
	}
	v = w.toStandardDepth(t, v.With(w.generatorLevel(dbm)...))
	a, details := w.arrive(v)
	details = append(details, run.Number("target", "dB", t.dB), run.Text("law", best.words()),
		run.Number("readings", "count", float64(len(w.points))), run.Number("scatter", "dB", w.scatterDB()))
	if best.power {
		details = append(details, run.Number("exponent", "1", best.params[best.atPower]))
	}
	if best.ceiling {
		details = append(details, run.Number("ceiling", "dB", best.params[best.atCeiling]))
	}
	o := quantity.Known(a)
	if rel := a.U() / a.Estimate(); rel > 0.1 { // in volts the interval of a level in dB is uneven
		k := v.Expanded(0.95)
		o.CI = &[2]float64{a.Estimate() * math.Pow(10, -k/20), a.Estimate() * math.Pow(10, k/20)}
		o.Level = 0.95
	}
	w.add(run.Figure{ID: t.id, Unit: "V", Outcome: o, Details: details}, nil)
}

// toStandardDepth brings a level at the depth that was set to that at 30 %: the
// tone behind a linear detector goes with the depth.
func (w *work) toStandardDepth(t target, v quantity.Value) quantity.Value {
	if !w.modulated() {
		return v
	}
	if w.set.depthU > 0 {
		v = v.With(quantity.Contribution{Source: w.sources.depth, C: 20 / math.Ln10 * w.set.depthU})
	}
	return v.Shift(20 * math.Log10(w.set.depth/standardDepth))
}

// modulated says that the tone comes from a modulated carrier.
func (w *work) modulated() bool {
	return w.set.mode == modeAM || w.set.mode == modeSINAD && w.raw.Options["bfo"] != "on"
}

// lawU is one standard uncertainty of the choice of the law: what the other
// plausible laws make of the same readings, as limits of a rectangular
// distribution, and by how much less closely they know it themselves: who takes
// the law that promises most has not measured better.
func (w *work) lawU(t target) float64 {
	best, u, _ := w.fits[0].levelAt(t.dB)
	most := 0.0
	for _, f := range w.fits[1:] {
		if other, v, ok := f.levelAt(t.dB); ok && !math.IsInf(v, 0) && !math.IsNaN(v) {
			more := math.Sqrt(math.Max(0, v*v-u*u))
			most = math.Max(most, math.Hypot(math.Abs(other-best)/math.Sqrt(3), more))
		}
	}
	return most
}

// scatterDB is the standard deviation of the ratios about the curve; of a few
// readings it says little.
func (w *work) scatterDB() float64 {
	sum := 0.0
	for _, p := range w.points {
		d := p.ratio - w.fits[0].at(p.dBm, w.fits[0].params)
		sum += d * d
	}
	return math.Sqrt(sum / math.Max(1, float64(w.fits[0].dof)))
}

// path is what lies between generator and set.
func (w *work) path() superhet.Path {
	p := superhet.Path{Dummy: w.set.dummy}
	if !math.IsNaN(w.set.inputOhm) {
		p.LoadOhm = complex(w.set.inputOhm, 0)
	}
	if !math.IsNaN(w.set.dialHz) {
		p.Hz = w.set.dialHz
	}
	return p
}

// arrive is the EMF behind the dummy antenna of a level at its input, and what
// else is told of it.
func (w *work) arrive(dbm quantity.Value) (emf quantity.Value, details []run.Detail) {
	l := superhet.Level{DBm: dbm, SourceOhm: w.set.sourceOhm}
	emf = l.EMF()
	details = append(details, numberU("emf_level", "dBµV", superhet.DBuV(emf)))
	path := w.path()
	a, err := path.Arrive(l)
	if err != nil {
		return emf, details
	}
	details = append(details, numberU("available_power", "dBm", a.DBm),
		numberU("source_resistance", "Ω", w.set.dummy.Resistance(w.set.sourceOhm, path.Hz)))
	if path.HasLoad() {
		details = append(details, numberU("pd", "V", a.PD))
	}
	return emf, details
}

// bound adds a level that lies outside the readings.
func (w *work) bound(t target, side func(quantity.Value) quantity.Outcome, dbm float64, why string) {
	v := w.toStandardDepth(t, quantity.New(dbm, w.generatorLevel(dbm)...))
	emf, details := w.arrive(v)
	details = append([]run.Detail{run.Text("why", why), run.Number("target", "dB", t.dB)}, details...)
	w.add(run.Figure{ID: t.id, Unit: "V", Outcome: side(emf), Details: details}, nil)
}

// levelNotes says what was taken for granted.
func (w *work) levelNotes() {
	if w.sources.defaulted {
		w.note("no instrument of the run says how good the generator's level is: one standard uncertainty of %s is taken", told(w.set.levelU, "dB"))
	}
	if w.set.dummy.ID != "none" {
		w.note("levels are EMF behind the dummy antenna (%s), which is the generator's own less the pad", w.set.dummy.Title)
	}
	if w.set.dummy.NeedsFrequency() && math.IsNaN(w.set.dialHz) {
		w.note("power available from behind the dummy antenna is not given, for it changes with frequency: say what the dial was set to")
	}
	if math.IsNaN(w.set.inputOhm) {
		w.note("voltage across the set's terminals is not given: its input resistance is not stated")
	}
	if w.modulated() && w.set.depth != standardDepth {
		w.note("made at a modulation depth of %s; the level is brought to 30 %% by the ratio of the depths", quantity.FormatNumber(100*w.set.depth, "%"))
	}
	if w.sharedOff {
		w.note("noise without the signal was read once for several levels; in CW it does not depend on them")
	}
	if w.set.averaging && w.set.mode != modeSINAD {
		w.note("the output meter averages: what it shows of tone and noise was brought to rms")
	}
	w.note("law of the detector: %s", w.fits[0].words())
	if len(w.points) < 3 {
		w.note("from %s the law cannot be told, only assumed: three more, below and above, would show it", count(len(w.points), "reading", "readings"))
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "one " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
