package intake

import (
	"math"
	"strings"
)

// unit converts a number typed in some unit to the base unit of its dimension:
// base = typed × 10^pow10 × mul + add. The power of ten stands apart because it
// is applied to decimal digits, exactly.
type unit struct {
	name  string
	base  string
	pow10 int
	mul   float64
	add   float64
}

// scale is the factor of the unit as one number.
func (u unit) scale() float64 { return u.mul * math.Pow10(u.pow10) }

// exact says that only a power of ten lies between the unit and its base.
func (u unit) exact() bool { return u.mul == 1 && u.add == 0 }

func tens(base string, pow10 int, names ...string) []unit {
	out := make([]unit, len(names))
	for i, n := range names {
		out[i] = unit{name: n, base: base, pow10: pow10, mul: 1}
	}
	return out
}

func times(base string, mul, add float64, names ...string) []unit {
	out := make([]unit, len(names))
	for i, n := range names {
		out[i] = unit{name: n, base: base, mul: mul, add: add}
	}
	return out
}

// unitTable holds names as they are matched exactly, then in lower case.
var unitTable, unitTableLower = makeUnits(
	tens("Hz", 0, "Hz", "hertz", "c/s", "cps", "c.p.s.", "cycles", "cycles/s"),
	tens("Hz", 3, "kHz", "kc/s", "kc", "kcs", "kilohertz", "kilocycles"),
	tens("Hz", 6, "MHz", "Mc/s", "Mc", "Mcs", "megahertz", "megacycles"),
	tens("Hz", 9, "GHz"),
	tens("s", 0, "s", "sec", "secs", "second", "seconds", "sek", "sekunden", "secondes", "segundos"),
	tens("s", -3, "ms", "msec", "millisecond", "milliseconds"),
	tens("s", -6, "us", "µs", "μs"),
	times("s", 60, 0, "min", "mins", "minute", "minutes", "minuten", "minutos"),
	times("s", 3600, 0, "h", "hr", "hrs", "hour", "hours", "std", "stunden", "heures", "horas"),
	times("s", 86400, 0, "d", "day", "days"),
	times("°C", 1, 0, "°C", "℃", "degC", "deg C", "degrees C", "celsius", "deg. C", "C"),
	times("°C", 5.0/9, -160.0/9, "°F", "degF", "deg F", "fahrenheit", "F"),
	times("°C", 1, -273.15, "K", "kelvin"),
	tens("V", 0, "V", "volt", "volts", "VAC", "VDC", "V AC", "V DC", "Veff", "Vrms"),
	tens("V", -3, "mV"), tens("V", -6, "uV", "µV", "μV"), tens("V", 3, "kV"),
	tens("A", 0, "A", "amp", "amps"), tens("A", -3, "mA"), tens("A", -6, "uA", "µA", "μA"),
	tens("Ω", 0, "Ω", "\u2126", "ohm", "ohms"), tens("Ω", 3, "kΩ", "k\u2126", "kohm"), tens("Ω", 6, "MΩ", "M\u2126", "Mohm"),
	tens("W", 0, "W", "watt", "watts"), tens("W", -3, "mW"),
	tens("dBm", 0, "dBm"), tens("dBµV", 0, "dBµV", "dBuV", "dBμV"), tens("dB", 0, "dB"),
	tens("1", 0, "1"), tens("1", -2, "%", "percent"), tens("1", -6, "ppm"), tens("1", -9, "ppb"),
)

func makeUnits(groups ...[]unit) (exact, lower map[string]unit) {
	exact, lower = map[string]unit{}, map[string]unit{}
	for _, g := range groups {
		for _, u := range g {
			exact[u.name] = u
			key := strings.ToLower(u.name)
			if was, taken := lower[key]; taken && was.scale() != u.scale() {
				u = unit{} // two sizes in one spelling: only the exact case will do
			}
			lower[key] = u
		}
	}
	return exact, lower
}

// lookUpUnit finds a unit by name. base, where not empty, is the base unit that
// the place allows: it resolves "m" as minutes among times. Case is forgiven
// where only one size of unit is spelt so.
func lookUpUnit(name, base string) (unit, bool) {
	name = strings.Trim(name, " \t.\u00a0")
	if base == "s" && (name == "m" || name == "'" || name == "′") {
		name = "min"
	}
	u, ok := unitTable[name]
	if !ok {
		u, ok = unitTableLower[strings.ToLower(name)]
	}
	if !ok || u.mul == 0 || (base != "" && u.base != base) {
		return unit{}, false
	}
	return u, true
}
