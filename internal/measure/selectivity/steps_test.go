package selectivity

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

var setTo = regexp.MustCompile(`Set the generator to ([-+−0-9. ]+[kM]?Hz)`)

// A worker who does what Next says, with a generator that reads to 0.1 dB,
// comes to both skirts in a bearable number of readings, has gone back to the
// middle meanwhile, and the passband comes out right.
func TestWhoFollowsNextGetsThePassband(t *testing.T) {
	for name, f := range map[string]func(float64) float64{"blunt": pairs(1, 1), "usual": pairs(3, 1), "sharp": pairs(6, 1), "two humps": pairs(3, 1.3)} {
		rng := rand.New(rand.NewPCG(21, 2))
		hz, level := []float64{}, []float64{}
		series := func() run.Series {
			return run.Series{Columns: []run.Column{
				{Role: "frequency", Unit: "Hz", Values: hz, Resolution: 10}, {Role: "input", Unit: "dBm", Values: level, Resolution: 0.1},
			}}
		}
		read := func(x float64) {
			hz = append(hz, x)
			level = append(level, math.Round(10*(-80-f((x-455e3)/(xKHz*kHz))+0.2*rng.NormFloat64()))/10)
		}
		first := Measurement{}.Next(measure.Raw{})
		if first.ID != "signal" || first.Caution == "" {
			t.Fatalf("first step %+v", first)
		}
		read(455e3)
		for {
			s := Measurement{}.Next(rawOf(series(), nil))
			if s.Done {
				break
			}
			m := setTo.FindStringSubmatch(s.Do)
			if m == nil || len(hz) > 60 {
				t.Fatalf("%s: after %d readings: %+v", name, len(hz), s)
			}
			x, err := measure.ParseNumber(m[1], "Hz")
			if err != nil {
				t.Fatal(err)
			}
			read(x)
		}
		middles := 0
		for _, x := range hz {
			if x == 455e3 {
				middles++
			}
		}
		a := analyse(t, rawOf(series(), nil))
		b6, b60 := find(t, a, "bandwidth_6", ""), find(t, a, "bandwidth_60", "")
		t.Logf("%s: %d readings, %d in the middle: %s, %s", name, len(hz), middles, quantity.FormatOutcome(b6.Outcome, "Hz"), quantity.FormatOutcome(b60.Outcome, "Hz"))
		if middles < 3 {
			t.Errorf("%s: back in the middle %d times of %d", name, middles, len(hz))
		}
		want6, want60 := width(f, 6)*xKHz*kHz, width(f, 60)*xKHz*kHz
		within(t, b6, want6, 0.03*want6)
		within(t, b60, want60, 0.06*want60)
	}
}

// The card names the options that it fills.
func TestCardFillsKnownOptions(t *testing.T) {
	known := map[string]bool{}
	for _, o := range (Measurement{}).About().Options {
		known[o.Name] = true
	}
	for _, l := range (Measurement{}).Card(run.Setup{}).Before {
		if l.Option != "" && !known[l.Option] {
			t.Errorf("card asks for %q", l.Option)
		}
	}
}

// Whatever is typed, an analysis gives figures that can be kept or a reason,
// and neither it nor Next panics.
func FuzzAnalyse(f *testing.F) {
	f.Add(uint64(1), uint8(9), 455e3, 1000.0, -80.0, 10.0, "")
	f.Add(uint64(2), uint8(30), 0.0, 0.0, math.NaN(), 1e300, "constant_input")
	f.Add(uint64(3), uint8(6), math.Inf(1), -5.0, 0.0, 0.0, "noise")
	f.Fuzz(func(t *testing.T, seed uint64, n uint8, hz, step, level, rise float64, method string) {
		rng := rand.New(rand.NewPCG(seed, 1))
		var x, y []float64
		for i := range int(n) % 40 {
			x = append(x, hz+step*float64(i-int(n)%40/2)*float64(1+rng.IntN(3)))
			y = append(y, level+rise*rng.NormFloat64())
		}
		for _, unit := range []string{"dBm", "V"} {
			raw := rawOf(run.Series{Columns: []run.Column{
				{Role: "frequency", Unit: "Hz", Values: x}, {Role: "input", Unit: unit, Values: y}, {Role: "output", Unit: "dB", Values: y},
			}}, map[string]string{"method": method, "nominal": fmt.Sprint(hz)})
			raw.Series.Columns = raw.Series.Columns[:2+int(seed%2)]
			a, err := Measurement{}.Analyse(context.Background(), raw, nil)
			Measurement{}.Next(raw)
			if err == nil && len(a.Sentences) == 0 {
				t.Fatal("neither sentence nor reason")
			}
			for _, f := range a.Figures {
				if _, err := json.Marshal(f); err != nil {
					t.Fatalf("%s cannot be kept: %v", f.ID, err)
				}
			}
			if s := strings.Join(a.Sentences, " "); strings.Contains(s, "NaN") || strings.Contains(s, "undefined") {
				t.Fatal(s)
			}
		}
	})
}
