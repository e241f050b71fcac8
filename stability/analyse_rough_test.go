package stability

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"
	"setwright/quantity"
)

// Any record that passes the checks gives figures that can be printed: no
// panic, no NaN for a value, ends of intervals in order.
func TestAnyRecordGivesFigures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := roughRecord(t)
		o := Options{Fit: FitTrend, Draws: 3, HorizonS: rapid.SampledFrom([]float64{0, 0, 1, 900, 1e9}).Draw(t, "horizon")}
		if _, err := r.Check(); err != nil {
			if _, again := Analyse(context.Background(), r, o); again == nil {
				t.Fatalf("analysed what the check refuses: %v", err)
			}
			return
		}
		a, err := Analyse(context.Background(), r, o)
		if err != nil {
			if _, few := err.(*TooFewReadingsError); !few {
				t.Fatal(err)
			}
			return
		}
		all := []Result{a.Closing, a.Excursion, a.Wander.Result, a.Tempco.Result}
		for i := range a.Settling {
			all = append(all, a.Settling[i].Result, a.Usable[i].Result)
		}
		for k, x := range all {
			sound(t, k, x)
		}
	})
}

func sound(t *rapid.T, k int, x Result) {
	switch x.Kind {
	case quantity.KindValue, quantity.KindBound:
		if math.IsNaN(x.Value) || math.IsInf(x.Value, 0) || math.IsNaN(x.U) {
			t.Fatalf("figure %d: %+v", k, x)
		}
	case quantity.KindInterval:
		if !(x.Lo <= x.Hi) {
			t.Fatalf("figure %d: %+v", k, x)
		}
	default:
		if x.Reason == "" {
			t.Fatalf("figure %d is absent without a reason", k)
		}
	}
	if x.CI != nil && !(x.CI[0] <= x.CI[1]) {
		t.Fatalf("figure %d: interval %v", k, *x.CI)
	}
}

// roughRecord draws a record with everything that can be odd about one.
func roughRecord(t *rapid.T) Record {
	n := rapid.IntRange(0, 80).Draw(t, "n")
	var r Record
	x := rapid.Float64Range(-1e5, 1e5).Draw(t, "start")
	scale := rapid.SampledFrom([]float64{0, 1e-3, 1, 100, 1e7}).Draw(t, "scale")
	for i := 0; i < n; i++ {
		v := rapid.SampledFrom([]float64{0, 455000, 7e6}).Draw(t, "level") + scale*rapid.Float64Range(-1, 1).Draw(t, "f")
		if rapid.IntRange(0, 9).Draw(t, "missing") == 0 {
			v = math.NaN()
		}
		r.TimeS, r.FrequencyHz = append(r.TimeS, x), append(r.FrequencyHz, v)
		r.AmbientC = append(r.AmbientC, 20+rapid.Float64Range(-5, 5).Draw(t, "ambient"))
		x += rapid.SampledFrom([]float64{0, 1, 10, 10, 10, 60, 4000}).Draw(t, "dt")
	}
	r.FirstReadingAfterS = rapid.SampledFrom([]float64{0, 0, 50, 200, -100}).Draw(t, "after")
	return r
}
