package quantity

// units is the one table of units: a new unit is a new row. The first row of a
// dimension is its base unit.
//
// Levels in decibels are not scaled as ratios, and levels with different
// references are different dimensions: dBm and dBµV convert only where an
// impedance is known. Celsius temperature and kelvin are kept apart because "5
// K" may be a difference; only where a Celsius temperature is wanted are kelvin
// converted. Old manuals write mfd for microfarad and mmfd for picofarad, c/s
// for hertz (common practice, no source).
var units = []Unit{
	{Symbol: "1", Dimension: "ratio", Factor: 1},
	{Symbol: "%", Dimension: "ratio", Factor: 1e-2, Names: []string{"percent", "pct", "pc"}},
	{Symbol: "ppm", Dimension: "ratio", Factor: 1e-6},
	{Symbol: "ppb", Dimension: "ratio", Factor: 1e-9},
	{Symbol: "count", Dimension: "count", Factor: 1, Names: []string{"counts"}},

	{Symbol: "s", Dimension: "time", Factor: 1, Prefixes: "pnµm", Names: []string{"sec", "secs", "second", "seconds"}},
	{Symbol: "min", Dimension: "time", Factor: 60, Names: []string{"m", "mins", "minute", "minutes"}},
	{Symbol: "h", Dimension: "time", Factor: 3600, Names: []string{"hr", "hrs", "hour", "hours"}},
	{Symbol: "d", Dimension: "time", Factor: 86400, Names: []string{"day", "days"}},

	{Symbol: "Hz", Dimension: "frequency", Factor: 1, Prefixes: "µmkMG",
		Names: []string{"hertz", "c/s", "c/sec", "c", "cs", "cps", "c.p.s.", "cycles", "cycle"},
		mTrap: "write MHz for mega or mHz for milli"},

	{Symbol: "Hz/h", Dimension: "frequency drift", Factor: 1, Prefixes: "µmkM", Names: []string{"Hz/hr", "Hz/hour"},
		mTrap: "write MHz/h for mega or mHz/h for milli"},
	{Symbol: "Hz/min", Dimension: "frequency drift", Factor: 60, Prefixes: "mk", Names: []string{"Hz/minute"}},
	{Symbol: "Hz/s", Dimension: "frequency drift", Factor: 3600, Prefixes: "mk", Names: []string{"Hz/sec"}},
	{Symbol: "Hz/d", Dimension: "frequency drift", Factor: 1. / 24, Prefixes: "mk", Names: []string{"Hz/day"}},
	{Symbol: "1/K", Dimension: "temperature coefficient", Factor: 1, Names: []string{"/K", "1/°C", "/°C", "K⁻¹"}, ASCII: "1/K"},
	{Symbol: "ppm/K", Dimension: "temperature coefficient", Factor: 1e-6, Names: []string{"ppm/°C", "ppm/degC", "ppm/C"}},
	{Symbol: "%/K", Dimension: "temperature coefficient", Factor: 1e-2, Names: []string{"%/°C", "%/degC", "%/C"}},

	{Symbol: "V", Dimension: "voltage", Factor: 1, Prefixes: "pnµmk", Names: []string{"volt", "volts"}},
	{Symbol: "A", Dimension: "current", Factor: 1, Prefixes: "pnµmk", Names: []string{"amp", "amps", "ampere", "amperes"}},
	{Symbol: "W", Dimension: "power", Factor: 1, Prefixes: "pnµmkM", Names: []string{"watt", "watts"}},
	{Symbol: "Ω", ASCII: "ohm", Dimension: "resistance", Factor: 1, Prefixes: "µmkMGT", Names: []string{"ohms", "R"},
		mTrap: "write MΩ or megohm for mega, mΩ or milliohm for milli"},
	{Symbol: "F", Dimension: "capacitance", Factor: 1, Prefixes: "pnµm", Names: []string{"farad", "farads", "fd"},
		mTrap: "write µF for micro (the mf of old manuals) or mF for milli"},
	{Symbol: "mfd", Dimension: "capacitance", Factor: 1e-6, Names: []string{"MFD", "Mfd", "mfds"}},
	{Symbol: "mmfd", Dimension: "capacitance", Factor: 1e-12, Names: []string{"MMFD", "MMfd", "mmf", "MMF", "µµF", "uuF"}},
	{Symbol: "H", Dimension: "inductance", Factor: 1, Prefixes: "pnµm", Names: []string{"henry", "henries", "henrys", "hy"}},
	{Symbol: "S", Dimension: "conductance", Factor: 1, Prefixes: "pnµm", Names: []string{"siemens", "mho", "mhos"}},
	{Symbol: "mA/V", Dimension: "conductance", Factor: 1e-3},

	{Symbol: "K", Dimension: "temperature in kelvin", Factor: 1, Prefixes: "mk", Names: []string{"kelvin", "kelvins"}},
	{Symbol: "°C", ASCII: "degC", Dimension: "temperature", Factor: 1, Delta: "K", Names: []string{"C", "ºC", "℃", "celsius"}},
	{Symbol: "°F", ASCII: "degF", Dimension: "temperature", Factor: 5. / 9, Offset: -160. / 9, Names: []string{"ºF", "℉", "fahrenheit"}},

	{Symbol: "dB", Dimension: "level difference", Factor: 1},
	{Symbol: "dBm", Dimension: "level re 1 mW", Factor: 1, Delta: "dB"},
	{Symbol: "dBµV", ASCII: "dBuV", Dimension: "level re 1 µV", Factor: 1, Delta: "dB"},
	{Symbol: "dBV", Dimension: "level re 1 V", Factor: 1, Delta: "dB"},
	{Symbol: "dBFS", Dimension: "level re full scale", Factor: 1, Delta: "dB"},
	{Symbol: "dB/dB", Dimension: "slope of a level", Factor: 1},
	{Symbol: "Hz/V", Dimension: "frequency per volt", Factor: 1, Prefixes: "mk"},
	{Symbol: "Hz/%", Dimension: "frequency per per cent", Factor: 1, Prefixes: "mk"},
	{Symbol: "Hz/dB", Dimension: "frequency per decibel", Factor: 1, Prefixes: "mk"},
	{Symbol: "Hz/turn", Dimension: "frequency per turn", Factor: 1, Prefixes: "mk"},
}

// baseUnit returns the base unit of a dimension.
func baseUnit(dimension string) Unit {
	for _, u := range units {
		if u.Dimension == dimension {
			return u
		}
	}
	return units[0]
}
