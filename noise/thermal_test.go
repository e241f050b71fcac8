package noise

import (
	"math"
	"testing"

	"setwright/quantity"
)

// TestWorkedExamples holds the worked examples of the textbooks, each with the
// digits it prints and those it gives when worked again.
func TestWorkedExamples(t *testing.T) {
	hotK := HotTemperature(quantity.Exact(14))
	te := YFactor(quantity.Exact(9), hotK, quantity.Exact(290))
	chain := Cascade(Stage{DB(2), DB(10)}, Stage{DB(4), DB(25)}, Stage{DB(5), 0})
	rows := []struct {
		source         string
		got, want, tol float64
	}{
		{"kT0, W/Hz (SI definition of k)", ThermalPowerW(290, 1), 4.00388e-21, 1e-26},
		{"kT0, dBm/Hz; -174 by convention", ThermalDBm(1), -173.975, 5e-4},
		{"Roddy 4.2.1: 50 ohm, 1 MHz, EMF in µV, printed 0.89 (0.8947 with its k of 1.38e-23)", 1e6 * ResistorEMF(50, 290, 1e6) * math.Sqrt(1.38e-23/Boltzmann), 0.8947, 5.1e-5},
		{"Roddy 4.2.1: power in W", ThermalPowerW(290, 1e6), 4.0e-15, 5e-17},
		{"Kennedy 2.2: 10 kohm, 2 MHz, 300 K, µV", 1e6 * ResistorEMF(10e3, 300, 2e6), 18.2, 0.05},
		{"Kennedy 2.3: 500 ohm, 6 MHz, 290 K, µV", 1e6 * ResistorEMF(500, 290, 6e6), 6.93, 5e-3},
		{"Kennedy 2.6: Req 30, Ra 50, dB", OfEquivalentResistance(30, 50), 2.04, 5e-3},
		{"Kennedy 2.6: its temperature, K", Temperature(quantity.Exact(OfEquivalentResistance(30, 50))).Estimate(), 174, 0.5},
		{"Kennedy 2.5: Req 1918, Ra 50, dB (F 39.4)", OfEquivalentResistance(1918, 50), 15.95, 6e-3},
		{"Roddy 4.15.1: 9 dB, 15 dB gain, mixer 20 dB", Cascade(Stage{9, 15}, Stage{20, 0}), 10.443, 5e-4},
		{"Blake 1.12: F 2, 4, 5, gains 10, 25", Ratio(chain), 2.316, 5e-4},
		{"Blake 1.12: its temperature, K, printed 382", Temperature(quantity.Exact(chain)).Estimate(), 381.6, 0.05},
		{"Roddy 4.19.1: ENR 14 dB, Th in K", hotK.Estimate(), 7574, 0.5},
		{"Roddy 4.19.1: Y 9 dB, Te in K", te.Estimate(), 759.1, 0.05},
		{"Roddy 4.19.1: noise figure, dB", FigureOfTemperature(te).Estimate(), 5.584, 5e-4},
		{"Y with a cold source at T0: NF = ENR − 10 lg(Y−1)", 14 - DB(Ratio(9)-1), 5.584, 5e-4},
		{"sine generator (method: US Army text SS0344): −120 dBm, 3 kHz", FigureFromLevel(quantity.Exact(-120), quantity.Exact(3000), 10*math.Log10(2)).Estimate(), 19.2, 0.05},
		{"Beasley 7.7: NF 20, 1 MHz, dBm", CWSensitivity(20, 1e6, 10*math.Log10(2)), -94, 0.05},
		{"MDS, NF 15.1, 10 kHz, dBm", CWSensitivity(15.1, 1e4, 10*math.Log10(2)), -118.9, 0.05},
		{"no stages at all", Cascade(), 0, 0},
	}
	for _, r := range rows {
		near(t, r.source, r.got, r.want, r.tol)
	}
}

// TestSignalToNoise holds the table of (S+N)/N and S/N (CHECKED values).
func TestSignalToNoise(t *testing.T) {
	for _, r := range [][2]float64{{3, -0.02}, {6, 4.744}, {10, 9.542}, {12, 11.717}, {20, 19.956}} {
		tol := 5.1e-4
		if r[0] == 3 {
			tol = 5.1e-3
		}
		near(t, "S/N", SignalToNoise(r[0]), r[1], tol)
		near(t, "and back", OverNoise(SignalToNoise(r[0])), r[0], 1e-12)
	}
	near(t, "3.0103 dB is a ratio of one", SignalToNoise(3.0103), 0, 1e-6)
	if !math.IsInf(SignalToNoise(0), -1) || !math.IsNaN(SignalToNoise(-1)) {
		t.Error("no signal is minus infinity; output below the noise is no ratio")
	}
}

// TestFigureKeepsItsSources follows the generator's error into the noise figure,
// and sees the bandwidth's lessened by its logarithm.
func TestFigureKeepsItsSources(t *testing.T) {
	gen := quantity.SourceKey{Kind: quantity.FromInstrument, Of: "generator-1", Quantity: "level"}.Source("generator", 0)
	width := quantity.RunSource("r", "bandwidth").Source("bandwidth", 0)
	level := quantity.New(-120, quantity.Contribution{Source: gen, C: 1})
	band := quantity.New(3000, quantity.Contribution{Source: width, C: 300})
	nf := FigureFromLevel(level, band, 3)
	for _, c := range nf.Contributions() {
		switch c.ID {
		case gen.ID:
			near(t, "generator", c.C, 1, 1e-12)
		case width.ID:
			near(t, "a tenth of bandwidth", c.C, -0.4343, 1e-4)
		}
	}
	depth := quantity.Exact(0.3)
	near(t, "AM is lower by the depth", FigureFromAM(level, band, depth, 3).Sub(nf).Estimate(), -10.458, 1e-3)
	if YFactor(quantity.Exact(0), quantity.Exact(7574), quantity.Exact(290)).Defined() {
		t.Error("no rise gives no temperature")
	}
}
