package demo

import (
	"context"
	"fmt"
	"time"

	"setwright/internal/intake"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// scenario makes the book of the story, day by day.
type scenario struct {
	ctx  context.Context
	shop *workshop.Shop
	now  time.Time
	err  error // the first error; what follows does nothing
	// input is the sound input as calibrated.
	input run.Instrument
}

// day is a morning of the story, in the museum's own winter of 2024.
func day(month time.Month, d int) time.Time { return time.Date(2024, month, d, 7, 40, 0, 0, time.UTC) }

// must keeps the first error.
func (s *scenario) must(err error) {
	if s.err == nil {
		s.err = err
	}
}

// takeIn enters both sets, the counter, and what was found in Turnstone.
func (s *scenario) takeIn() {
	s.now = day(time.January, 13)
	for _, set := range []receiver.Set{turnstone, whimbrel} {
		_, err := s.shop.AddSet(s.ctx, set, s.now)
		s.must(err)
	}
	s.instrument(counter)
	s.modification(receiver.Modification{
		SetID: "turnstone", Title: "brass can over V3", ActsOn: []string{"local oscillator"},
		LookFor: "a brass can, soldered to a spring clip, over the oscillator valve; in no drawing",
		Undo:    "lifts off: two nuts. Keep the spring clip with it, bag 3.",
		Source:  "found on the set; a pencilled label inside says what it is for",
		Claims: []receiver.Claim{{Figure: "excursion", Direction: receiver.Smaller, Amount: 0.2, Relative: true,
			Words: "\"moves a fifth less from cold\"", Source: "pencilled inside the can"}},
	})
	s.found("turnstone/brass-can-over-v3", "turnstone/as-found")
	s.modification(receiver.Modification{
		SetID: "whimbrel", Title: "regulator tube in the oscillator supply", ActsOn: []string{"local oscillator", "HT supply"},
		LookFor: "a gas tube in the socket of V7, glowing violet",
		Undo:    "pull the tube; the socket was empty as found",
		Source:  "the set's own circuit; the tube was missing",
		Claims: []receiver.Claim{{Figure: "residual_drift", Direction: receiver.Smaller, Amount: 0.5, Relative: true,
			Words: "halves the slow drift", Source: "a visitor who had one"}},
	})
}

// proposePair enters the modification that somebody wants to make.
func (s *scenario) proposePair() {
	s.now = day(time.January, 27)
	s.modification(receiver.Modification{
		SetID: "turnstone", Title: "compensating pair", ActsOn: []string{"local oscillator"},
		LookFor: "two ceramic capacitors in place of one mica across the band D tank",
		Undo:    "remove both; refit the mica capacitor from bag 7, see sheet 3",
		Source:  "worked out on the club's sheet 12 from the drift measured as found",
		Claims: []receiver.Claim{
			{Figure: "settling_time", Conditions: map[string]string{"band_hz": "100"}, Direction: receiver.Smaller, Amount: 1.0 / 3, Relative: true,
				Words: "settles to ±100 Hz in a third less time", Source: "sheet 12"},
			{Figure: "excursion", Direction: receiver.Smaller, Amount: 0.5, Relative: true,
				Words: "moves half as far from cold", Source: "sheet 12"},
			{Figure: "residual_drift", Direction: receiver.Unchanged,
				Words: "does nothing to the slow drift", Source: "sheet 12"},
		},
	})
}

// fitPair begins the state with the pair, and later the one without the can.
func (s *scenario) fitPair() {
	s.now = day(time.February, 3)
	s.configuration("pair fitted", "turnstone/brass-can-over-v3", "turnstone/compensating-pair")
}

func (s *scenario) liftCan() {
	s.now = day(time.February, 10)
	s.configuration("pair fitted, can off", "turnstone/compensating-pair")
}

func (s *scenario) regulated() {
	s.configure("whimbrel", "regulator in", "whimbrel/regulator-tube-in-the-oscillator-supply")
}

// configuration adds a configuration of Turnstone and its first state.
func (s *scenario) configuration(name string, mods ...string) {
	s.configure("turnstone", name, mods...)
}

// configure adds a configuration of a set and its first state.
func (s *scenario) configure(set, name string, mods ...string) {
	if s.err != nil {
		return
	}
	c, err := s.shop.AddConfiguration(s.ctx, receiver.Configuration{SetID: set, Name: name, Modifications: mods})
	s.must(err)
	_, err = s.shop.AddState(s.ctx, receiver.State{ConfigurationID: c.ID, From: s.now})
	s.must(err)
}

// again begins a new state of a configuration that the set had before.
func (s *scenario) again(configuration string) {
	_, err := s.shop.AddState(s.ctx, receiver.State{ConfigurationID: configuration, From: s.now, Name: "", Notes: "put back as it was"})
	s.must(err)
}

// instrument puts an instrument on the bench.
func (s *scenario) instrument(in run.Instrument) {
	if s.err != nil {
		return
	}
	_, err := s.shop.AddInstrument(s.ctx, in)
	s.must(err)
}

func (s *scenario) modification(m receiver.Modification) {
	if s.err != nil {
		return
	}
	_, err := s.shop.AddModification(s.ctx, m)
	s.must(err)
}

func (s *scenario) found(modification, configuration string) {
	if s.err != nil {
		return
	}
	_, err := s.shop.MarkFound(s.ctx, modification, configuration)
	s.must(err)
}

// log imports the log of one sitting, written in one of the museum's dialects.
func (s *scenario) log(state string, o oscillator, sit sitting, name string, write func(sitting, []reading) []byte, notes string) {
	if s.err != nil {
		return
	}
	s.now = sit.start.Add(sit.lasts + 20*time.Minute)
	options := map[string]string{
		"oscillator": "local", "dial": dialText, "off_time": fmt.Sprintf("%g h", sit.offHours),
		"line_voltage": fmt.Sprintf("%g V", sit.lineV), "power_on_u": "3 s",
	}
	if state[:4] == "turn" {
		options["band"] = "D"
	} else {
		options["band"] = "3"
	}
	if sit.ambientC != 0 {
		options["ambient"] = fmt.Sprintf("%.1f °C", sit.ambientC)
	}
	_, err := s.shop.Import(s.ctx, workshop.NewRun{
		State: state, Measurement: "drift", Options: options, Notes: notes, Started: sit.start,
		Setup: run.Setup{Instruments: []run.Instrument{counter}, Day: sit.start.Format("2006-01-02"), Operator: "invented"},
	}, intake.BytesSource(name, write(sit, o.readings(sit))), intake.Override{}, nil)
	if err != nil {
		s.must(fmt.Errorf("%s: %w", name, err))
	}
}

// morning is a sitting of three hours from cold.
func morning(start time.Time, ambientC, lineV, offHours float64, seed uint64) sitting {
	return sitting{
		start: start, every: 20 * time.Second, lasts: 3 * time.Hour, ambientC: ambientC, warmsC: 0.8,
		lineV: lineV, offHours: offHours, seed: seed,
	}
}
