package agc

import (
	"math"
	"strconv"

	"setwright/internal/measure"
	"setwright/internal/measure/pool"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

// The two places at which the noise after a key goes up is taken, in seconds
// from there.
var (
	soonS  = [2]float64{0.075, 0.125}
	laterS = [2]float64{0.45, 0.55}
)

// keyUps are the rises of the noise after keys that went up.
type keyUps struct {
	rises   []pool.Observed
	details []run.Detail
}

// keyUps adds those of one recording.
func (w *work) keyUps(f followed, up *keyUps) {
	events := keyings(signal.FindSteps(f.env, signal.StepOptions{}))
	before := len(up.rises)
	for i, e := range events {
		if e.AfterDB > e.BeforeDB {
			continue
		}
		if i+1 < len(events) && events[i+1].TimeS < e.TimeS+laterS[1]+f.env.WindowS {
			continue
		}
		o, ok := rise(f, e.TimeS)
		if !ok {
			continue
		}
		up.rises = append(up.rises, o)
		number := strconv.Itoa(len(up.rises))
		up.details = append(up.details, run.Detail{ID: "key_up_" + number, Parts: []run.Detail{run.Number("at", "s", e.TimeS), run.Number("rise", "dB", o.X)}})
		w.out.Stretches = append(w.out.Stretches, measure.Stretch{Recording: f.index, FromS: e.TimeS, ToS: e.TimeS + laterS[1],
			Label: "key up " + number, Figures: []string{"agc_between_characters"}})
	}
	if len(up.rises) == before {
		w.note("%s: found no pause of %s s or more after a key that goes up", name(f.rec), short(laterS[1]))
	}
}

// keyed adds the rise of the noise between characters.
func (w *work) keyed(up keyUps) {
	if len(up.rises) == 0 {
		return
	}
	w.add(run.Figure{ID: "agc_between_characters", Unit: "dB", Outcome: quantity.Known(w.pooledValue(up.rises)),
		Details: append([]run.Detail{run.Number("key_ups", "count", float64(len(up.rises)))}, up.details...)})
}

// keyings keeps of changes that follow each other within 50 ms the first.
func keyings(events []signal.StepEvent) []signal.StepEvent {
	const least = 0.05
	var out []signal.StepEvent
	for _, e := range events {
		if n := len(out); n == 0 || e.TimeS-out[n-1].TimeS > least {
			out = append(out, e)
		}
	}
	return out
}

// rise is the level half a second after a moment over that a tenth of a second
// after it.
func rise(f followed, at float64) (pool.Observed, bool) {
	if f.touched(at-0.05, at+laterS[1]) {
		return pool.Observed{}, false
	}
	soon, u1, ok1 := meanPower(f.env, at+soonS[0], at+soonS[1])
	later, u2, ok2 := meanPower(f.env, at+laterS[0], at+laterS[1])
	if !ok1 || !ok2 || soon <= 0 || later <= 0 {
		return pool.Observed{}, false
	}
	return pool.Observed{X: 10 * math.Log10(later/soon), U: 10 / math.Ln10 * math.Hypot(u1/soon, u2/later)}, true
}

// meanPower is the mean of an envelope between two times; windows that share
// samples count once.
func meanPower(env *signal.LevelTrack, from, to float64) (p, u float64, ok bool) {
	n, sum, square := 0.0, 0.0, 0.0
	env = env.Between(from, to)
	for i, t := range env.TimeS {
		if t-env.WindowS/2 < from-1e-9 || t+env.WindowS/2 > to+1e-9 {
			continue
		}
		n++
		sum += env.Power[i]
		square += env.Power[i] * env.Power[i]
	}
	if n < 3 {
		return 0, 0, false
	}
	p = sum / n
	independent := math.Max(1, n*env.StepS/env.WindowS)
	return p, math.Sqrt(math.Max(0, square/n-p*p) / independent), true
}
