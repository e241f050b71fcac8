package demo

import (
	"fmt"
	"math"
	"time"

	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// generator is the museum's signal generator.
var generator = run.Instrument{ID: "generator-1", Name: "signal generator", Epoch: "2023-11", Reads: "input", Absolute: 0.8, Cell: "8 MHz"}

// The sets as a sound input hears them.
var (
	turnstoneHeard = hearing{noiseFigureDB: 8, widthHz: 2900, offHz: 110, bfoHz: 3500, attackS: 0.045, recoveryS: 0.33,
		ratio: 9, second: 0.021, third: 0.012, humDB: -47, seed: 501}
	whimbrelHeard = hearing{noiseFigureDB: 14, widthHz: 3400, offHz: -240, bfoHz: 3600, attackS: 0.12, recoveryS: 0.8,
		ratio: 4, second: 0.052, third: 0.024, humDB: -38, seed: 502}
	// noteFromCold is the beat note of the whole set over its first minutes.
	noteFromCold = oscillator{endHz: -1250, valveHz: 1400, valveS: 120, chassisHz: 700, chassisS: 24 * 60, walkHz: 2.5}
)

// heardSet is a set on the evenings with the sound input.
type heardSet struct {
	state, name string
	hearing
	levels [4]float64        // dBm, for the sensitivity
	runs   map[string]string // the first run of each measurement
}

// calibrate makes a measuring instrument of the sound input: by a tone whose
// volts a meter and whose frequency the counter reads, by silence, and by a loop
// from the computer's own output.
func (s *scenario) calibrate() run.Sound {
	if s.err != nil {
		return run.Sound{}
	}
	var input hearing
	sound := func(name string, peak, second, hiss float64, part uint64) *workshop.SoundFile {
		t := input.tape(8000, 12, part)
		for i := range t.x {
			phase := 2 * math.Pi * 1000 * t.at(i)
			t.x[i] = peak*(math.Sin(phase)+second*math.Sin(2*phase)) + hiss*t.rng.NormFloat64()
		}
		src, err := t.wave(name)
		s.must(err)
		return &workshop.SoundFile{Source: src}
	}
	known := func(x, u float64, what string) quantity.Value {
		key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: what, Quantity: "reading"}
		return quantity.New(x, quantity.Contribution{Source: key.Source(what, 0), C: u})
	}
	const volts = 0.5
	tone := sound("known tone.wav", volts/fullScaleV, 1e-4, 1e-4, 1)
	in, _, err := s.shop.CalibrateSound(s.ctx, workshop.SoundCalibration{
		Instrument: "sound-1", Name: "sound input", ValidFor: 365 * 24 * time.Hour,
		Level: tone, Volts: known(volts, 0.01*volts, "meter-1"), Rate: tone, Hz: known(1000, 1000*counter.Relative, counter.ID),
		Quiet: sound("quiet.wav", 0, 0, 1e-4, 2), Loop: sound("loop.wav", 0.5, 2e-4, 1e-4, 3),
	}, nil)
	s.must(err)
	s.input = in
	if s.err != nil {
		return run.Sound{}
	}
	return *in.Sound
}

// take is one recording and what is written on it.
type take struct {
	*tape
	name, role string
	labels     map[string]string
}

// record imports recordings as one run, as a user would. What the controls of
// the set stood at goes with it.
func (s *scenario) record(set *heardSet, measurement string, controls map[string]string, takes ...take) {
	if s.err != nil {
		return
	}
	var files []workshop.SoundFile
	for _, t := range takes {
		src, err := t.wave(set.name + " " + t.name + ".wav")
		if err != nil {
			s.must(err)
			return
		}
		files = append(files, workshop.SoundFile{Source: src, Role: t.role, Labels: t.labels})
	}
	controls["dial"] = dialText
	r, err := s.shop.ImportSound(s.ctx, workshop.NewRun{
		State: set.state, Measurement: measurement, Options: controls, Started: s.now,
		Setup: run.Setup{Instruments: []run.Instrument{generator, s.input}, Day: s.now.Format("2006-01-02"), Operator: "invented"},
	}, files, nil)
	if err != nil {
		s.must(fmt.Errorf("%s, %s: %w", set.name, measurement, err))
		return
	}
	if set.runs[measurement] == "" {
		set.runs[measurement] = r.ID
	}
}

// selectivity records noise through the set with the BFO to one side.
func (s *scenario) selectivity(set *heardSet) {
	hiss, floor := set.throughBFO(set.tape(16000, 20, 1)), set.floor(set.tape(16000, 8, 2))
	s.record(set, "selectivity", map[string]string{
		"detection": "bfo", "bfo_offset": fmt.Sprintf("%+g Hz", set.bfoHz), "agc": "off", "filter": "wide", "where": "signal", "limiter": "off",
	}, take{hiss, "noise", "noise", map[string]string{"part": "passband"}},
		take{floor, "noise, IF gain down", "noise", map[string]string{"part": "floor"}})
}

// sensitivity records the output at four levels, modulated and not; noise
// bandwidth and width are those that were just found. evening tells the
// recordings of one evening from those of another.
func (s *scenario) sensitivity(set *heardSet, evening uint64) {
	noiseWidth, width := s.text(set, "selectivity", "noise_bandwidth"), s.text(set, "selectivity", "bandwidth_6")
	if s.err != nil {
		return
	}
	var takes []take
	for i, dBm := range set.levels {
		for j, signal := range []string{"modulated", "unmodulated"} {
			depth := []float64{0.3, 0}[j]
			t := set.throughDetector(set.tape(8000, 3, 100*evening+uint64(2*i+j)), dBm, depth)
			takes = append(takes, take{t, fmt.Sprintf("%g dBm %s", dBm, signal), "output",
				map[string]string{"input": fmt.Sprintf("%g dBm", dBm), "signal": signal}})
		}
	}
	s.record(set, "sensitivity", map[string]string{
		"mode": "am", "agc": "off", "bfo": "off", "filter": "wide", "limiter": "off", "gain_control": "maximum",
		"modulation": "30 %", "modulation_frequency": "400 Hz", "bandwidth": width, "noise_bandwidth": noiseWidth,
	}, takes...)
}

// gainControl records a carrier stepped by a pad.
func (s *scenario) gainControl(set *heardSet) {
	const holdS = 3.5
	steps := set.stepped(set.tape(8000, 5*holdS, 20), holdS)
	s.record(set, "agc", map[string]string{"agc": "on", "bfo": "off", "filter": "wide", "gain_control": "maximum"},
		take{steps, "steps", "step", map[string]string{"step": "20 dB", "input": "-47 dBm"}})
}

// fidelity records a tone and the bare carrier.
func (s *scenario) fidelity(set *heardSet) {
	const level = "-47 dBm"
	s.record(set, "audio", map[string]string{"agc": "on", "bfo": "off", "filter": "wide", "limiter": "off", "source_thd": "0.5 %"},
		take{set.tone(set.tape(12000, 6, 30), true), "997 Hz", "tone", map[string]string{"input": level, "modulation": "30 %"}},
		take{set.tone(set.tape(12000, 6, 31), false), "carrier", "hum", map[string]string{"input": level}})
}

// beatNote records the beat note from cold.
func (s *scenario) beatNote(set *heardSet) {
	s.record(set, "drift", map[string]string{"oscillator": "set", "off_time": "16 h", "beat_sense": "rises", "ambient": "18 °C"},
		take{set.beat(set.tape(4000, 300, 40), noteFromCold), "beat", "beat", nil})
}

// text is a figure of a set's first run of a measurement, as one would type it
// into an option.
func (s *scenario) text(set *heardSet, measurement, id string) string {
	f := s.figure(set, measurement, id)
	return quantity.Printer{ASCII: true}.Format(f.Value, f.Unit)
}

// figure finds a figure of a set's first run of a measurement.
func (s *scenario) figure(set *heardSet, measurement, id string) run.Figure {
	if s.err != nil {
		return run.Figure{}
	}
	res, err := s.shop.Result(s.ctx, set.runs[measurement], nil, nil)
	s.must(err)
	for _, f := range res.Analysis.Figures {
		if f.ID == id {
			return f
		}
	}
	s.must(fmt.Errorf("demo: run %q has no figure %s", set.runs[measurement], id))
	return run.Figure{}
}
