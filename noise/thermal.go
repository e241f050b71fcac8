package noise

import "math"

const (
	// Boltzmann is the Boltzmann constant k in J/K, exact (SI, 2019).
	Boltzmann = 1.380649e-23
	// StandardTemperatureK is T0, to which noise factors refer.
	StandardTemperatureK = 290.0
)

// ThermalPowerW returns kTB, the available noise power in watts of any
// resistance at a temperature in kelvin in a bandwidth in hertz.
func ThermalPowerW(temperatureK, bandwidthHz float64) float64 {
	return Boltzmann * temperatureK * bandwidthHz
}

// ThermalDBm returns kT0B in dBm: -173.975 in 1 Hz, for which -174 is said.
func ThermalDBm(bandwidthHz float64) float64 {
	return DBm(ThermalPowerW(StandardTemperatureK, bandwidthHz))
}

// ResistorEMF returns sqrt(4kTRB), the rms open-circuit noise voltage in volts
// of a resistance in ohms (Roddy and Coolen, section 4.2).
func ResistorEMF(ohm, temperatureK, bandwidthHz float64) float64 {
	return math.Sqrt(4 * ThermalPowerW(temperatureK, bandwidthHz) * ohm)
}

// DBm returns a power in watts as a level re 1 mW.
func DBm(watts float64) float64 { return 10*math.Log10(watts) + 30 }

// DB returns a ratio of powers in decibels, Ratio is its inverse.
func DB(ratio float64) float64 { return 10 * math.Log10(ratio) }

// Ratio returns the ratio of powers of a number of decibels.
func Ratio(db float64) float64 { return math.Pow(10, db/10) }
