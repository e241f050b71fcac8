package noise

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func microvolts(dbm float64) float64 { return 1e6 * math.Sqrt(1e-3*math.Pow(10, dbm/10)*50) }

func TestSensitivityTable(t *testing.T) {
	for _, r := range rows(t, "rf-sensitivity.csv") {
		nf, b, m, x := number(t, r, "NF_dB"), number(t, r, "noise_bandwidth_Hz"), number(t, r, "m"), number(t, r, "SplusN_over_N_dB")
		if x == 3.01 {
			x = 10 * math.Log10(2) // the table prints a ratio of two so
		}
		level := AMSensitivity(nf, b, m, x)
		if r["mode"] == "CW/SSB" {
			level = CWSensitivity(nf, b, x)
		}
		printed(t, r, "S_over_N_dB", SignalToNoise(x))
		printed(t, r, "input_dBm", level)
		printed(t, r, "uV_pd_50", microvolts(level))
		printed(t, r, "uV_emf_50", 2*microvolts(level))
	}
}

// TestSensitivityRows holds the single rows of the reference: handy cases, and
// the specification that states AM and CW sensitivity of one receiver.
func TestSensitivityRows(t *testing.T) {
	near(t, "10 dB at 30 %: floor + 20 dB", AMSensitivity(7, 5000, 0.3, 10)-CWSensitivity(7, 5000, 10*math.Log10(2)), 20, 1e-3)
	near(t, "NF 10, 6 kHz", AMSensitivity(10, 6000, 0.3, 10), -106.19, 5e-3)
	near(t, "the same in µV", microvolts(AMSensitivity(10, 6000, 0.3, 10)), 1.096, 5e-4)
	near(t, "AM worse than CW", AMSensitivity(10, 500, 0.3, 10)-CWSensitivity(10, 500, 10), 10.46, 5e-3)
	near(t, "3.3 µV AM against 1 µV CW: 1/m", math.Pow(10, (AMSensitivity(10, 500, 0.3, 10)-CWSensitivity(10, 500, 10))/20), 3.33, 5e-3)
	am, err := EquivalentSidebandInput(3.3, 0.3, 1, 9)
	if err != nil {
		t.Fatal(err)
	}
	cw, err := EquivalentSidebandInput(1, 1, 1, 9)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "equivalent sideband input from AM, µV", am, 0.33, 5e-3)
	near(t, "and from CW, µV", cw, 0.333, 5e-4)
	if _, err := EquivalentSidebandInput(1, 1, 0, 9); err == nil {
		t.Error("no noise was taken")
	}
	// data sheet: 26 dB at 15 µV, so 20 dB per decade predicts 7.0 dB at 1.5 µV
	// (printed 6) and 45.99 at 150 (printed 46)
	at15 := SignalToNoise(26)
	near(t, "data sheet at 1.5 µV", OverNoise(at15-20), 7.0, 0.05)
	near(t, "data sheet at 150 µV", OverNoise(at15+20), 45.99, 6e-3)
}

// TestEnvelopeAgainstTheReference holds the law of the linear envelope detector
// against the four rows of simulated detection. The row of 14 dB is that of a
// power ratio of 25 (13.98 dB), by its own formula column.
func TestEnvelopeAgainstTheReference(t *testing.T) {
	for _, r := range []struct{ c, formula, simulated float64 }{
		{1000, 19.59, 19.59}, {100, 10.00, 9.98}, {25, 5.12, 5.07}, {10, 2.79, 2.70},
	} {
		c := r.c
		near(t, "large-signal law", OverNoise(DB(0.09*c)), r.formula, 6e-3)
		near(t, "with the detector's own law", OverNoise(DB(0.09*c*Envelope(c))), r.simulated, 0.04)
	}
}

// TestEnvelopeAgainstSimulation draws the envelope of a carrier in noise and
// compares slope² over variance.
func TestEnvelopeAgainstSimulation(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	moments := func(a float64, draws [][2]float64) (mean, variance float64) {
		var s, q float64
		for _, d := range draws {
			r := math.Hypot(a+d[0], d[1])
			s, q = s+r, q+r*r
		}
		n := float64(len(draws))
		return s / n, q/n - s*s/n/n
	}
	draws := make([][2]float64, 400000)
	for i := range draws {
		draws[i] = [2]float64{rng.NormFloat64(), rng.NormFloat64()}
	}
	for _, c := range []float64{0.3, 1, 3, 10, 100} {
		a := math.Sqrt(2 * c)
		hi, _ := moments(a+0.01, draws) // the same draws: their spread cancels
		lo, _ := moments(a-0.01, draws)
		_, v := moments(a, draws)
		slope := (hi - lo) / 0.02
		near(t, "suppression", Envelope(c), slope*slope/v, 0.006)
	}
}

// TestEnvelopeIsAFactor: it rises from 0 to 1, without a step where the series
// takes over.
func TestEnvelopeIsAFactor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := math.Pow(10, rapid.Float64Range(-4, 6).Draw(t, "lg"))
		lo, hi := Envelope(a), Envelope(a*1.01)
		if !(lo >= 0 && hi <= 1 && hi >= lo-1e-9) {
			t.Fatalf("envelope at %g: %g, at 1 %% more: %g", a, lo, hi)
		}
	})
	if Envelope(0) != 0 || Envelope(-1) != 0 {
		t.Error("no carrier, no signal")
	}
	near(t, "at the joint", Envelope(299.99), Envelope(300.01), 1e-5)
}

// TestAveragingMeter: noise reads 1.05 dB low on a meter that averages (common
// knowledge of audio measurement, and derived: 10 lg(π/4)), a strong tone right,
// and a drawn mixture what is computed.
func TestAveragingMeter(t *testing.T) {
	near(t, "noise", AveragingNoiseDB, -1.049, 1e-3)
	near(t, "the integral without a tone", 20*math.Log10(meanReading(0)), AveragingNoiseDB, 1e-9)
	near(t, "strong tone: 1.05 dB too large", OverNoiseOfAveraging(40), 40+AveragingNoiseDB, 1e-2)
	rng := rand.New(rand.NewPCG(3, 4))
	for _, over := range []float64{3, 10, 20} {
		a := math.Sqrt(2 * Ratio(SignalToNoise(over)))
		var mean float64
		const n = 400000
		for range n {
			mean += math.Abs(a*math.Sin(2*math.Pi*rng.Float64())+rng.NormFloat64()) / n
		}
		shown := 20 * math.Log10(mean/math.Sqrt(2/math.Pi))
		near(t, "drawn mixture", OverNoiseOfAveraging(shown), over, 0.03)
	}
	if got := OverNoiseOfAveraging(-0.3); got != -0.3 {
		t.Errorf("no tone: %g", got)
	}
}

// TestBessel holds tabulated values (Abramowitz and Stegun, table 9.8, from
// memory): exp(−x)·I0 and exp(−x)·I1.
func TestBessel(t *testing.T) {
	for _, r := range []struct{ x, i0, i1 float64 }{
		{0, 1, 0}, {1, 0.4657596077, 0.2079104154}, {5, 0.1835408126, 0.1639722669}, {10, 0.1278333372, 0.1212626814},
	} {
		i0, i1 := besselI(r.x)
		near(t, "I0", i0, r.i0, 1e-9)
		near(t, "I1", i1, r.i1, 1e-9)
	}
	i0, _ := besselI(150)
	near(t, "large argument: 1/sqrt(2πx)·(1 + 1/8x + 9/128x²)", i0, (1+1./1200+9/(128*22500.))/math.Sqrt(300*math.Pi), 1e-8)
}
