package sensitivity

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/noise"
)

// set is a simulated receiver: invented, by the relations of package noise.
type set struct {
	figureDB, bandwidthHz float64
	mode                  string
	depth                 float64
	ceilingDB             float64 // 0: none
	leakDBm               float64 // 0: none
}

// over is its (S+N)/N in dB at an available power in dBm.
func (s set) over(dbm float64) float64 {
	floor := noise.CWSensitivity(s.figureDB, s.bandwidthHz, 10*math.Log10(2))
	c := noise.Ratio(dbm - floor)
	if s.leakDBm != 0 {
		c += noise.Ratio(s.leakDBm - floor)
	}
	if s.mode == modeAM {
		c *= s.depth * s.depth * noise.Envelope(c)
	}
	if s.ceilingDB != 0 {
		c /= 1 + c*noise.Ratio(-s.ceilingDB)
	}
	return noise.OverNoise(noise.DB(c))
}

// bench is readings as a person would type them.
type bench struct {
	levels           []float64 // dBm
	readingDB        float64   // standard deviation of one output reading
	stepDB, commonDB float64   // of a setting of the attenuator, and of all of them
	seed             uint64
}

// measure makes a run of readings in volts.
func (b bench) measure(s set) measure.Raw {
	rng := rand.New(rand.NewPCG(b.seed, 7))
	common := b.commonDB * rng.NormFloat64()
	var in, on, off []float64
	for _, l := range b.levels {
		true0 := l + common + b.stepDB*rng.NormFloat64()
		quiet := 0.1
		in = append(in, l)
		off = append(off, quiet*math.Pow(10, b.readingDB*rng.NormFloat64()/20))
		on = append(on, quiet*math.Pow(10, (s.over(true0)+b.readingDB*rng.NormFloat64())/20))
	}
	raw := rawOf(map[string]string{"mode": s.mode, "agc": "off"}, column("input", "dBm", in), column("output_on", "V", on), column("output_off", "V", off))
	if s.mode == modeAM {
		raw.Options["modulation"] = plain(100*s.depth) + " %"
	}
	return raw
}

func column(role, unit string, values []float64) run.Column {
	return run.Column{Role: role, Unit: unit, Values: values}
}

func rawOf(options map[string]string, columns ...run.Column) measure.Raw {
	if options == nil {
		options = map[string]string{}
	}
	return measure.Raw{RunID: "r1", Options: options, Series: run.Series{Columns: columns}}
}

// analyse runs the measurement and the derivations.
func analyse(t *testing.T, raw measure.Raw) measure.Analysis {
	t.Helper()
	a, err := Measurement{}.Analyse(context.Background(), raw, nil)
	if err != nil {
		t.Fatal(err)
	}
	registry, err := measure.NewRegistry([]measure.Measurement{Measurement{}}, Derivations())
	if err != nil {
		t.Fatal(err)
	}
	if a.Figures, err = registry.Derive(a.Figures); err != nil {
		t.Fatal(err)
	}
	return a
}

// want finds a figure.
func want(t *testing.T, a measure.Analysis, id string) run.Figure {
	t.Helper()
	f := find(a.Figures, id)
	if f == nil {
		t.Fatalf("no figure %s; notes: %q", id, a.Notes)
	}
	return *f
}

func near(t *testing.T, what string, got, wanted, tol float64) {
	t.Helper()
	if !(math.Abs(got-wanted) <= tol) {
		t.Errorf("%s: %.6g, expected %g ± %g", what, got, wanted, tol)
	}
}

// about spreads levels evenly.
func about(from, to float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = from + (to-from)*float64(i)/float64(n-1)
	}
	return out
}
