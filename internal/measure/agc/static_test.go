package agc

import (
	"encoding/csv"
	"errors"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/superhet"
)

// rawOf makes raw data of input levels, volts being EMF, and outputs.
func rawOf(x []float64, unitX string, y []float64, unitY string, options map[string]string) measure.Raw {
	options = maps.Clone(options)
	if options == nil {
		options = map[string]string{}
	}
	if options["voltage_is"] == "" {
		options["voltage_is"] = superhet.EMF
	}
	return measure.Raw{RunID: "test", Options: options, Series: run.Series{Columns: []run.Column{
		{Role: "input", Unit: unitX, Values: x}, {Role: "output", Unit: unitY, Values: y},
	}}}
}

func analyse(t *testing.T, raw measure.Raw) measure.Analysis {
	t.Helper()
	a, err := Measurement{}.Analyse(t.Context(), raw, nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func find(t *testing.T, a measure.Analysis, id string) run.Figure {
	t.Helper()
	for _, f := range a.Figures {
		if f.ID == id {
			return f
		}
	}
	t.Fatalf("no figure %s; notes: %s", id, strings.Join(a.Notes, "; "))
	return run.Figure{}
}

func readVector(t *testing.T) (x, y []float64) {
	t.Helper()
	file, err := os.Open("testdata/static.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		a, err1 := strconv.ParseFloat(row[0], 64)
		b, err2 := strconv.ParseFloat(row[1], 64)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		x, y = append(x, a), append(y, b)
	}
	return x, y
}

// The worked test vector of testdata/SOURCES.md: figure of merit 84.88 dB, and
// 23.53 dB of input per decibel of output between 40 and 80 dBµV.
func TestWorkedCurve(t *testing.T) {
	x, y := readVector(t)
	// 40 and 80 dBµV of EMF at 50 Ω are −73.01 and −33.01 dBm
	raw := rawOf(x, "dBµV", y, "dB", map[string]string{"slope_range": "-73.01 dBm, -33.01 dBm"})
	a := analyse(t, raw)
	merit := find(t, a, "agc_merit")
	if got := merit.Value.Estimate(); math.Abs(got-84.88) > 0.005 || merit.Kind != quantity.KindValue {
		t.Errorf("figure of merit %.3f dB (%s), the source has 84.88", got, merit.Kind)
	}
	if merit.Conditions["reference_v"] != "0.1" {
		t.Errorf("reference %s V: 100 dBµV is 0.1 V", merit.Conditions["reference_v"])
	}
	if slope := find(t, a, "agc_slope").Value.Estimate(); math.Abs(1/slope-23.53) > 0.005 {
		t.Errorf("%.3f dB of input per decibel, the source has 23.53", 1/slope)
	}
	if u := merit.Value.U(); u < 0.2 || u > 1 {
		t.Errorf("u of the figure of merit %.2f dB", u)
	}
	knee := find(t, a, "agc_knee").Value
	if db := knee.Estimate() + 113.01; db < 15 || db > 25 {
		t.Errorf("knee at %.1f dBµV, the slope is 0.82 from 10 to 20 and 0.29 from 20 to 30", db)
	}
}

// The same set read with four scales gives the same figures.
func TestScalesOfLevelsAgree(t *testing.T) {
	x, y := readVector(t)
	want := analyse(t, rawOf(x, "dBµV", y, "dB", nil))
	var volts, dBm, pd, af, watts []float64
	for i := range x {
		emf := 1e-6 * math.Pow(10, x[i]/20)
		volts, pd, dBm = append(volts, emf), append(pd, x[i]-20*math.Log10(2)), append(dBm, x[i]-113.0103)
		af, watts = append(af, 2*math.Pow(10, y[i]/20)), append(watts, 0.5*math.Pow(10, y[i]/10))
	}
	for _, raw := range []measure.Raw{
		rawOf(volts, "V", af, "V", nil), rawOf(dBm, "dBm", watts, "W", nil),
		rawOf(pd, "dBµV", y, "dBFS", map[string]string{"voltage_is": "pd"}),
	} {
		a := analyse(t, raw)
		for _, id := range []string{"agc_merit", "agc_spread", "agc_knee", "agc_slope"} {
			if got, w := find(t, a, id).Value.Estimate(), find(t, want, id).Value.Estimate(); math.Abs(got-w) > 1e-3*math.Max(1, math.Abs(w)) {
				t.Errorf("%s %g, by dBµV %g", id, got, w)
			}
		}
	}
}

// Levels of the trade (CHECKED rows of a compiled reference): 1 µV across a
// matched 50 Ω load is −106.99 dBm, 1 µV of EMF −113.01 dBm; 75 Ω −108.75 dBm.
func TestLevels(t *testing.T) {
	for _, c := range []struct {
		s    source
		want float64
	}{{source{50, superhet.PD}, -106.99}, {source{50, superhet.EMF}, -113.01}, {source{75, superhet.PD}, -108.75}, {source{400, superhet.PD}, -116.02}} {
		if got, err := c.s.dBm(1e-6, "V"); err != nil || math.Abs(got-c.want) > 0.005 {
			t.Errorf("1 µV of %+v: %.3f dBm (%v), want %.2f", c.s, got, err, c.want)
		}
		if v := c.s.emf(c.s.ofEMF(0.1)); math.Abs(v-0.1) > 1e-12 {
			t.Errorf("there and back: %g V", v)
		}
	}
}

// A set whose curve never falls by 10 dB, one that was not driven over the
// whole range and one without AGC give bounds, not numbers.
func TestBoundsWhereTheLevelsEnd(t *testing.T) {
	var x, flat, linear []float64
	for l := -87.0; l <= -27; l += 10 {
		x, flat, linear = append(x, l), append(flat, 0.05*l), append(linear, l)
	}
	a := analyse(t, rawOf(x, "dBm", flat, "dB", nil))
	merit := find(t, a, "agc_merit")
	if merit.Kind != quantity.KindBound || merit.Bound != quantity.MoreThan || math.Abs(merit.Value.Estimate()-60) > 1e-9 {
		t.Errorf("figure of merit %s", words(merit))
	}
	if merit.Conditions["reference_v"] == "0.1" || !strings.Contains(strings.Join(a.Notes, "; "), "highest level reached") {
		t.Errorf("the reference of −27 dBm is not told: %v %v", merit.Conditions, a.Notes)
	}
	if s := find(t, a, "agc_spread"); s.Kind != quantity.KindBound || s.Bound != quantity.MoreThan || math.Abs(s.Value.Estimate()-3) > 0.01 {
		t.Errorf("spread %s", words(s))
	}
	if k := find(t, a, "agc_knee"); k.Kind != quantity.KindBound || k.Bound != quantity.LessThan {
		t.Errorf("knee %s", words(k))
	}
	a = analyse(t, rawOf(x, "dBm", linear, "dB", nil))
	if k := find(t, a, "agc_knee"); k.Kind != quantity.KindBound || k.Bound != quantity.MoreThan {
		t.Errorf("knee of a set without AGC: %s", words(k))
	}
	for _, f := range a.Figures {
		if f.ID == "agc_slope" {
			t.Error("a slope above a knee that was not found")
		}
	}
}

// What cannot be is refused with its row, what is short with what is missing.
func TestStaticRefusals(t *testing.T) {
	var refusal *measure.Refusal
	_, err := Measurement{}.Analyse(t.Context(), rawOf([]float64{1e-6, -1e-5, 1e-4}, "V", []float64{1, 2, 3}, "dB", nil), nil)
	if !errors.As(err, &refusal) || refusal.Row != 1 {
		t.Errorf("a negative level: %v", err)
	}
	_, err = Measurement{}.Analyse(t.Context(), rawOf([]float64{-50, -40}, "dBm", []float64{1, 2}, "dB", nil), nil)
	if !errors.As(err, &refusal) || !strings.Contains(err.Error(), "2 levels of input") {
		t.Errorf("two levels: %v", err)
	}
	_, err = Measurement{}.Analyse(t.Context(), measure.Raw{}, nil)
	if !errors.As(err, &refusal) || !strings.Contains(err.Error(), "neither readings") {
		t.Errorf("nothing: %v", err)
	}
	_, err = Measurement{}.Analyse(t.Context(), rawOf([]float64{-50, -40, -30}, "dBm", []float64{1, 2, 3}, "dB", map[string]string{"spread_range": "-50 dBm"}), nil)
	if !errors.As(err, &refusal) || !strings.Contains(err.Error(), "spread_range") {
		t.Errorf("half a range: %v", err)
	}
}

// A slip of the meter's range is set aside and named; the figures are those of
// the other readings.
func TestSlipIsSetAside(t *testing.T) {
	x, y := readVector(t)
	clean := find(t, analyse(t, rawOf(x, "dBµV", y, "dB", nil)), "agc_spread").Value.Estimate()
	x, y = append(x, 50), append(y, -1.8+20)
	a := analyse(t, rawOf(x, "dBµV", y, "dB", nil))
	if len(a.SetAside) != 1 || a.SetAside[0].Row != 8 {
		t.Fatalf("set aside: %+v", a.SetAside)
	}
	if got := find(t, a, "agc_spread").Value.Estimate(); math.Abs(got-clean) > 0.01 {
		t.Errorf("spread %.2f dB, without the slip %.2f", got, clean)
	}
}

// Strong signals that lower the output are warned of.
func TestOverloadIsWarnedOf(t *testing.T) {
	x, y := readVector(t)
	y[len(y)-1] = -4
	a := analyse(t, rawOf(x, "dBµV", y, "dB", nil))
	if len(a.Warnings) != 1 || !strings.Contains(a.Warnings[0], "overload") {
		t.Errorf("warnings: %v", a.Warnings)
	}
}

// soft is an invented static curve: slope 1 below the knee, slope s above, with
// a bend of width b; a bend of 0 is a corner. Its local slope is 0.5 where the
// bend's logistic is at (0.5 − s)/(1 − s).
type soft struct{ knee, s, b float64 }

func (c soft) at(x float64) float64 {
	d := x - c.knee
	if d > 30*c.b { // past the bend, and a corner for a bend of 0
		return math.Max(d, 0)*c.s + math.Min(d, 0)
	}
	return d - (1-c.s)*c.b*math.Log1p(math.Exp(d/c.b))
}

// halfway is where the slope is 0.5.
func (c soft) halfway() float64 {
	q := 0.5 / (1 - c.s)
	return c.knee + c.b*math.Log(q/(1-q))
}

// merit is the fall of input from ref for 10 dB less.
func (c soft) merit(ref float64) float64 {
	lo, hi := -200.0, ref
	for range 80 {
		if m := (lo + hi) / 2; c.at(m) > c.at(ref)-10 {
			hi = m
		} else {
			lo = m
		}
	}
	return ref - lo
}

// The promise of the stated uncertainties, by simulation (invented sets): knee,
// spread, merit and slope of curves from a corner to a wide bend, read by 10, 5
// and 1 dB with the errors stated, lie within the 95 % interval in 90 to 99 % of
// 20 sets (SETWRIGHT_COVERAGE=full: 300).
func TestCoverageStatic(t *testing.T) {
	count := 20
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		count = 300
	}
	for _, step := range []float64{10, 5, 2} {
		rng := rand.New(rand.NewPCG(3, uint64(step*10)))
		hits := map[string]int{}
		for range count {
			c := soft{knee: -95 + 20*rng.Float64(), s: 0.03 + 0.1*rng.Float64(), b: 4 * rng.Float64()}
			a := analyse(t, drawSet(rng, c, step))
			for id, want := range map[string]float64{
				"agc_knee": c.halfway(), "agc_spread": c.at(-27) - c.at(-107), "agc_merit": c.merit(source{ohm: 50}.ofEMF(0.1)),
			} {
				if lo, hi := find(t, a, id).Value.Interval(0.95); want >= lo && want <= hi {
					hits[id]++
				}
			}
		}
		for id, n := range hits {
			p := float64(n) / float64(count)
			t.Logf("%g dB steps: %s covered in %.1f %%", step, id, 100*p)
			if slack := 2 * math.Sqrt(0.05*0.95/float64(count)); p < 0.90-slack {
				t.Errorf("%g dB steps: %s within its interval in %.0f %%", step, id, 100*p)
			}
		}
	}
}

// drawSet reads a set every so many decibels, each setting of the attenuator
// out by 0.3 dB, each output by 0.2 dB.
func drawSet(rng *rand.Rand, c soft, step float64) measure.Raw {
	var x, y []float64
	for l := -122 + step*rng.Float64(); l <= -13+step; l += step {
		x = append(x, l)
		y = append(y, c.at(l+0.3*rng.NormFloat64())+0.2*rng.NormFloat64())
	}
	return rawOf(x, "dBm", y, "dB", map[string]string{"reading_u": "0.2 dB", "step_u": "0.3 dB"})
}

// Whatever the readings, the curve never falls as the input rises, and it lies
// within their range.
func TestCurveIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 40).Draw(t, "n")
		x, y := make([]float64, n), make([]float64, n)
		at := -120.0
		for i := range x {
			at += rapid.Float64Range(0, 12).Draw(t, "step")
			x[i], y[i] = at, rapid.Float64Range(-40, 10).Draw(t, "y")
		}
		c := fitCurve(x, y)
		for i := 1; i < len(c.x); i++ {
			if c.y[i] < c.y[i-1]-1e-9 || c.x[i] <= c.x[i-1] {
				t.Fatalf("falls at %d: %v %v", i, c.x, c.y)
			}
		}
	})
}

// Two runs with one generator share the error of its level: it leaves the
// difference of their knees.
func TestGeneratorIsSharedBetweenRuns(t *testing.T) {
	x, y := readVector(t)
	knee := func(id string) quantity.Value {
		raw := rawOf(x, "dBµV", y, "dB", nil)
		raw.RunID = id
		raw.Setup.Instruments = []run.Instrument{{ID: "gen-1", Name: "generator", Epoch: "2026", Reads: "input", Absolute: 1.5}}
		return find(t, analyse(t, raw), "agc_knee").Value
	}
	a, b := knee("a"), knee("b")
	if a.U() < 1.5 {
		t.Errorf("u of the knee %.2f dB is less than that of the generator", a.U())
	}
	if d := a.Sub(b); d.U() > 1.9 {
		t.Errorf("u of the difference %.2f dB still holds the generator", d.U())
	}
}

// Volts of a generator that do not say which are refused as the measurement of
// sensitivity refuses them: 6 dB too much or too little are no reading.
func TestVoltsMustSayWhich(t *testing.T) {
	c := []run.Column{{Role: "input", Unit: "V", Values: []float64{1e-6, 1e-5, 1e-4, 1e-3}}, {Role: "output", Unit: "dB", Values: []float64{-20, -4, -2, -1}}}
	raw := measure.Raw{RunID: "test", Series: run.Series{Columns: c}}
	_, err := Measurement{}.Analyse(t.Context(), raw, nil)
	var r *measure.Refusal
	if !errors.As(err, &r) || !strings.Contains(r.Advice, "emf") {
		t.Fatalf("found %v, expected a refusal that asks for emf or pd", err)
	}
	c[0].Text = []string{"1 µV emf", "10 µV emf", "100 µV", "1 mV"}
	a, err := Measurement{}.Analyse(t.Context(), raw, nil)
	if err != nil {
		t.Fatal(err)
	}
	top := find(t, a, "agc_merit").Details[0] // the highest level: 1 mV EMF behind 50 ohm
	if want := -53.01; top.Value == nil || math.Abs(*top.Value-want) > 0.01 {
		t.Errorf("1 mV EMF read as %v, expected %.2f dBm", top, want)
	}
}
