package demo

import (
	"setwright/internal/receiver"
	"setwright/internal/run"
)

// turnstone is the museum's watch-keeping set.
var turnstone = receiver.Set{
	Name: "Turnstone", Serial: "LV 7, rack 2, upper", Invented: true, IFHz: 612e3,
	Kind:   "single superhet, five bands, two IF stages, separate local oscillator",
	Origin: "the radio cabin of the lightvessel; on board until she came in for good",
	AsFound: "Complete and dusty. Runs, after a fashion: on telegraphy the note slides for over an hour. " +
		"A soldered brass can over V3 that is in no drawing. Rectifier and two paper capacitors replaced long ago.",
	Bands: []receiver.Band{
		{Name: "A", LowHz: 150e3, HighHz: 410e3, Injection: "high"}, {Name: "B", LowHz: 395e3, HighHz: 560e3, Injection: "high"},
		{Name: "C", LowHz: 1.2e6, HighHz: 3.3e6, Injection: "high"}, {Name: "D", LowHz: 3.1e6, HighHz: 8.6e6, Injection: "high"},
		{Name: "E", LowHz: 8.3e6, HighHz: 22.5e6, Injection: "high"},
	},
	Stages: []receiver.Stage{
		{Position: "V1", Duty: "signal-frequency amplifier", Valve: "6SG7"}, {Position: "V2", Duty: "mixer", Valve: "6L7"},
		{Position: "V3", Duty: "local oscillator", Valve: "6J5"}, {Position: "V4", Duty: "first IF", Valve: "6SK7"},
		{Position: "V5", Duty: "second IF", Valve: "6SK7"}, {Position: "V6", Duty: "detector and AGC", Valve: "6H6"},
		{Position: "V7", Duty: "beat oscillator", Valve: "6SJ7"}, {Position: "V8", Duty: "output", Valve: "6V6"},
		{Position: "V9", Duty: "rectifier", Valve: "5Y3"},
	},
	Cautions: "285 V on the oscillator box while the can is off. The line filter leaks to the chassis: isolate before touching.",
}

// whimbrel is the museum's traffic set.
var whimbrel = receiver.Set{
	Name: "Whimbrel", Serial: "LV 7, rack 2, lower", Invented: true, IFHz: 1165e3,
	Kind:    "single superhet, four bands, one wide and one crystal IF position",
	Origin:  "came with the vessel; nobody remembers it working well",
	AsFound: "Cleaned by somebody who meant well. Dial drum slips when turned fast. HT regulator socket empty.",
	Bands: []receiver.Band{
		{Name: "1", LowHz: 1.6e6, HighHz: 3.4e6, Injection: "high"}, {Name: "2", LowHz: 3.3e6, HighHz: 7.0e6, Injection: "high"},
		{Name: "3", LowHz: 6.6e6, HighHz: 13.2e6, Injection: "high"}, {Name: "4", LowHz: 12.8e6, HighHz: 24.5e6, Injection: "low"},
	},
	Stages: []receiver.Stage{
		{Position: "V1", Duty: "signal-frequency amplifier", Valve: "EF39"}, {Position: "V2", Duty: "mixer and local oscillator", Valve: "ECH35"},
		{Position: "V3", Duty: "IF", Valve: "EF39"}, {Position: "V4", Duty: "detector, AGC, first audio", Valve: "EBC33"},
		{Position: "V5", Duty: "beat oscillator", Valve: "EF37"}, {Position: "V6", Duty: "output", Valve: "EL33"},
		{Position: "V7", Duty: "HT regulator (socket empty as found)", Valve: "0D3"},
	},
	Cautions: "The chassis is live at one side of the line without its isolating transformer.",
}

// counter is the museum's frequency counter.
var counter = run.Instrument{ID: "counter-1", Name: "seven-digit counter", Epoch: "2024-01", Reads: "frequency", Relative: 0.5e-6, Resolution: 0.1}

// Both oscillators are watched with the dial at 7.9 MHz.
const dialText = "7.9 MHz"

// The behaviour of the oscillators in the states of the story.
var (
	turnstoneAsFound = oscillator{
		endHz: 8.512040e6, valveHz: -850, valveS: 4.5 * 60, chassisHz: -2600, chassisS: 24 * 60,
		perKelvin: -9, driftHzH: 12, whiteHz: 1.2, walkHz: 2.5, morningly: 0.02, tempoly: 0.02,
	}
	turnstonePair = oscillator{
		endHz: 8.511320e6, valveHz: -640, valveS: 4.5 * 60, chassisHz: -620, chassisS: 24 * 60,
		perKelvin: -3, driftHzH: 10, whiteHz: 1.2, walkHz: 2.5, morningly: 0.02, tempoly: 0.02,
	}
	whimbrelAsFound = oscillator{
		endHz: 9.064600e6, valveHz: -420, valveS: 6 * 60, chassisHz: -1500, chassisS: 29 * 60,
		perKelvin: -14, driftHzH: -55, whiteHz: 2.5, walkHz: 14, morningly: 0.06, tempoly: 0.05,
	}
	whimbrelRegulated = oscillator{
		endHz: 9.064650e6, valveHz: -420, valveS: 6 * 60, chassisHz: -1450, chassisS: 29 * 60,
		perKelvin: -14, driftHzH: -34, whiteHz: 2.5, walkHz: 13, morningly: 0.06, tempoly: 0.05,
	}
)
