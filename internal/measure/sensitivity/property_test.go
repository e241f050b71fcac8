package sensitivity

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"setwright/internal/measure"
	"setwright/quantity"
	"setwright/superhet"
)

// TestShiftsAndScales: all levels higher by k dB make the level higher by k dB;
// all outputs louder by any factor, or written in watts, change nothing.
func TestShiftsAndScales(t *testing.T) {
	levels := about(-141, -118, 7)
	base := bench{levels: levels, readingDB: 0.2, seed: 3}.measure(set{figureDB: 10, bandwidthHz: 500, mode: modeCW})
	first := dBuV(t, base)
	rapid.Check(t, func(rt *rapid.T) {
		k := rapid.Float64Range(-40, 60).Draw(rt, "k")
		gain := math.Pow(10, rapid.Float64Range(-6, 3).Draw(rt, "gain"))
		moved := rawOf(base.Options, column("input", "dBm", apply(levels, func(x float64) float64 { return x + k })),
			column("output_on", "W", apply(base.Series.Column("output_on").Values, func(x float64) float64 { return gain * x * x })),
			column("output_off", "W", apply(base.Series.Column("output_off").Values, func(x float64) float64 { return gain * x * x })))
		got := dBuV(t, moved)
		if math.Abs(got.Estimate()-first.Estimate()-k) > 2e-3 || math.Abs(got.U()-first.U()) > 2e-3 {
			rt.Fatalf("%v became %v with %g dB more", first, got, k)
		}
	})
}

func apply(x []float64, f func(float64) float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = f(x[i])
	}
	return out
}

// dBuV is the sensitivity of a run as a level.
func dBuV(t *testing.T, raw measure.Raw) quantity.Value {
	a, err := Measurement{}.Analyse(context.Background(), raw, nil)
	if err != nil {
		t.Fatal(err)
	}
	return superhet.DBuV(want(t, a, "sensitivity_cw").Value)
}

// TestAnyReadingsAreSurvived: whatever is typed gives figures or a refusal,
// never a panic and never a number that is none.
func TestAnyReadingsAreSurvived(t *testing.T) {
	odd := rapid.OneOf(rapid.Float64Range(-150, 20), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300}))
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(0, 9).Draw(rt, "n")
		draw := func(name string) []float64 { return rapid.SliceOfN(odd, n, n).Draw(rt, name) }
		unit := rapid.SampledFrom([]string{"dB", "V", "W"}).Draw(rt, "unit")
		raw := rawOf(map[string]string{"mode": rapid.SampledFrom([]string{"am", "cw", "sinad"}).Draw(rt, "mode"), "voltage_is": "emf"},
			column("input", rapid.SampledFrom([]string{"dBm", "V", "dBµV"}).Draw(rt, "in"), draw("input")), column("output_on", unit, draw("on")), column("output_off", unit, draw("off")))
		if rapid.Bool().Draw(rt, "sinad") {
			raw.Series.Columns = append(raw.Series.Columns, column("sinad", "dB", draw("sinad")))
		}
		_ = Measurement{}.Next(raw)
		a, err := Measurement{}.Analyse(context.Background(), raw, nil)
		if err != nil {
			return
		}
		for _, f := range a.Figures {
			if f.Kind == quantity.KindValue && !f.Value.Defined() {
				rt.Fatalf("%s is %v", f.ID, f.Value)
			}
		}
	})
}

// TestVoltsAsTyped: what was typed behind the levels says which volts they are.
func TestVoltsAsTyped(t *testing.T) {
	input := column("input", "V", []float64{2e-6, 3e-6, 4e-6})
	input.Text = []string{"2 µV emf; 0.3; 0.1", "5 min: 3 µV emf; 0.45; 0.1", "4 µV emf; 0.6; 0.1"}
	raw := rawOf(map[string]string{"mode": "cw"}, input, column("output_on", "V", []float64{0.3, 0.45, 0.6}), column("output_off", "V", []float64{0.1, 0.1, 0.1}))
	near(t, "µV EMF", 1e6*want(t, analyse(t, raw), "sensitivity_cw").Value.Estimate(), 2.1, 0.15)
	input.Text[1] = "3 µV pd; 0.45; 0.1"
	if _, err := (Measurement{}).Analyse(context.Background(), raw, nil); err == nil {
		t.Error("emf and pd in one column were taken")
	}
}

func BenchmarkAnalyseReadings(b *testing.B) {
	raw := bench{levels: about(-120, -90, 12), readingDB: 0.25}.measure(set{figureDB: 10, bandwidthHz: 6000, mode: modeAM, depth: 0.3})
	for b.Loop() {
		if _, err := (Measurement{}).Analyse(context.Background(), raw, nil); err != nil {
			b.Fatal(err)
		}
	}
}
