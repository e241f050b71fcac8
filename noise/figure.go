package noise

import (
	"math"

	"setwright/quantity"
)

// Stage is one stage of a chain: its noise figure and its available power
// gain, both in dB. A loss is a negative gain, and the noise figure of a lossy
// part at T0 is its loss.
type Stage struct{ NoiseFigureDB, GainDB float64 }

// Cascade returns the noise figure in dB of stages one behind the other, by
// Friis: F = F1 + (F2−1)/G1 + (F3−1)/(G1·G2) + … (Roddy and Coolen, section
// 4.15). Without stages it is 0 dB.
func Cascade(stages ...Stage) float64 {
	f, gain := 1.0, 1.0
	for _, s := range stages {
		f += (Ratio(s.NoiseFigureDB) - 1) / gain
		gain *= Ratio(s.GainDB)
	}
	return DB(f)
}

// OfEquivalentResistance returns the noise figure in dB of a stage whose noise
// is that of a resistance in series with its input, from a source resistance:
// F = 1 + Req/Ra (Kennedy, Davis and Prasanna, section 2-4).
func OfEquivalentResistance(equivalentOhm, sourceOhm float64) float64 {
	return DB(1 + equivalentOhm/sourceOhm)
}

// Temperature returns the noise temperature in kelvin of a noise figure in dB.
func Temperature(figureDB quantity.Value) quantity.Value {
	return figureDB.PowerRatio().Shift(-1).Scale(StandardTemperatureK)
}

// FigureOfTemperature returns the noise figure in dB of a noise temperature in
// kelvin.
func FigureOfTemperature(kelvin quantity.Value) quantity.Value {
	return kelvin.Scale(1 / StandardTemperatureK).Shift(1).PowerRatioDB()
}

// YFactor returns the noise temperature in kelvin from the rise in output noise
// power, in dB, when a source at a cold temperature is replaced by one at a hot
// one: Te = (Th − Y·Tc)/(Y − 1). A rise of 0 or less gives an undefined value.
func YFactor(riseDB, hotK, coldK quantity.Value) quantity.Value {
	if !(riseDB.Estimate() > 0) {
		return quantity.Undefined()
	}
	y := riseDB.PowerRatio()
	return hotK.Sub(y.Mul(coldK)).Div(y.Shift(-1))
}

// HotTemperature returns the temperature in kelvin of a noise source of a given
// excess noise ratio in dB: T0 (1 + ENR).
func HotTemperature(excessDB quantity.Value) quantity.Value {
	return excessDB.PowerRatio().Shift(1).Scale(StandardTemperatureK)
}

// FigureFromLevel returns the noise figure in dB from the available power in
// dBm at which a CW receiver gives the (S+N)/N in dB, and its noise bandwidth
// in hertz: NF = P − 10 lg(kT0B) − S/N. With 3.01 dB it is the method of the
// sine generator: the level that doubles the output power.
func FigureFromLevel(levelDBm, bandwidthHz quantity.Value, overNoiseDB float64) quantity.Value {
	return levelDBm.Sub(bandwidthHz.PowerRatioDB()).Shift(-ThermalDBm(1) - SignalToNoise(overNoiseDB))
}

// FigureFromAM is [FigureFromLevel] for an envelope-detected carrier of
// modulation depth m: the signal is down by 20 lg m. bandwidthHz is the noise
// bandwidth before the detector, or twice that of the audio part where it is
// narrower. It holds where the carrier is 10 dB above the noise and more.
func FigureFromAM(levelDBm, bandwidthHz, depth quantity.Value, overNoiseDB float64) quantity.Value {
	return FigureFromLevel(levelDBm, bandwidthHz, overNoiseDB).Add(depth.VoltageRatioDB())
}

// SignalToNoise returns S/N in dB from (S+N)/N in dB: 10 lg(10^(x/10) − 1).
// From 0 dB it is minus infinity, below there is none: NaN.
func SignalToNoise(overNoiseDB float64) float64 {
	return DB(math.Expm1(overNoiseDB / 10 * math.Ln10))
}

// OverNoise returns (S+N)/N in dB from S/N in dB.
func OverNoise(signalToNoiseDB float64) float64 {
	return 10 / math.Ln10 * math.Log1p(Ratio(signalToNoiseDB))
}
