// Package shoptest makes small books for tests: invented sets with simulated
// logs, entered through the workshop as a user would enter them.
package shoptest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"setwright/internal/intake"
	"setwright/internal/measure/list"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/store"
	"setwright/internal/workshop"
)

// Now is what the clock of a test's workshop says.
var Now = time.Date(2024, 3, 20, 10, 0, 0, 0, time.UTC)

// New returns a workshop on an empty book that ends with the test.
func New(t testing.TB) *workshop.Shop {
	t.Helper()
	registry, err := list.Registry()
	must(t, err)
	book, err := store.Open(t.Context(), t.TempDir(), store.Options{Create: true})
	must(t, err)
	t.Cleanup(func() { _ = book.Close() })
	shop := workshop.New(book, registry)
	shop.Clock = func() time.Time { return Now }
	return shop
}

// Story is a book with two sets: the first with a modification that helps and
// one whose claim cannot be judged yet, the second watched at its BFO, so that
// the two cannot be compared.
type Story struct {
	Shop                    *workshop.Shop
	Turnstone, Whimbrel     receiver.Set
	AsFound, Fitted, Padded receiver.State
	Pair, Feet              receiver.Modification
	Runs                    []run.Run
}

// Told returns the story's book.
func Told(t testing.TB) Story {
	t.Helper()
	shop, ctx := New(t), t.Context()
	s := Story{Shop: shop}
	var err error
	s.Turnstone, err = shop.AddSet(ctx, turnstone, day(1))
	must(t, err)
	s.Whimbrel, err = shop.AddSet(ctx, receiver.Set{Name: "Whimbrel", Serial: "W-2", Invented: true}, day(1))
	must(t, err)
	s.Pair, err = shop.AddModification(ctx, pair)
	must(t, err)
	s.Feet, err = shop.AddModification(ctx, feet)
	must(t, err)
	s.AsFound = StateOf(t, shop, "turnstone/as-found")
	s.Fitted = AddState(t, shop, receiver.Configuration{SetID: "turnstone", Name: "pair fitted", Modifications: []string{s.Pair.ID}}, day(10))
	s.Padded = AddState(t, shop, receiver.Configuration{SetID: "turnstone", Name: "pair and feet", Modifications: []string{s.Pair.ID, s.Feet.ID}}, day(16))
	slow := Warmup{EndHz: 8_512_300, FastHz: 900, FastS: 250, SlowHz: -1900, SlowS: 1500, NoiseHz: 1.5}
	quick := Warmup{EndHz: 8_512_100, FastHz: 700, FastS: 240, SlowHz: -650, SlowS: 700, NoiseHz: 1.5}
	for i := range 3 {
		s.Runs = append(s.Runs, Enter(t, shop, s.AsFound.ID, slow, Sitting{On: day(2 + i), Seed: uint64(i)}))
	}
	for i := range 3 {
		s.Runs = append(s.Runs, Enter(t, shop, s.Fitted.ID, quick, Sitting{On: day(11 + i), Seed: uint64(10 + i)}))
	}
	s.Runs = append(s.Runs, Enter(t, shop, s.Padded.ID, quick, Sitting{On: day(17), Seed: 21, SlipRow: 40}))
	s.Runs = append(s.Runs, Enter(t, shop, "whimbrel", slow, Sitting{On: day(4), Seed: 31, Oscillator: "bfo"}))
	_, err = shop.Amend(ctx, run.Amendment{RunID: s.Runs[0].ID, Kind: run.AmendStrike, Row: 12, Reason: "somebody leaned on the bench"})
	must(t, err)
	return s
}

var turnstone = receiver.Set{
	Name: "Turnstone", Serial: "T-17", Kind: "single superhet, four bands", IFHz: 612e3, Invented: true,
	Origin:  "lightvessel museum, store room",
	AsFound: "Complete, dirty; regulator valve missing from its socket. <b>Somebody</b> was in the oscillator box.",
	Bands: []receiver.Band{
		{Name: "3", LowHz: 3.2e6, HighHz: 6.1e6, Injection: "high"},
		{Name: "4", LowHz: 6e6, HighHz: 11.4e6, Injection: "high"},
	},
	Stages: []receiver.Stage{{Position: "V1", Duty: "signal amplifier", Valve: "6K7"}, {Position: "V3", Duty: "local oscillator", Valve: "6J5"}},
}

var pair = receiver.Modification{
	SetID: "turnstone", Title: "Compensating pair", ActsOn: []string{"local oscillator"},
	LookFor: "two small capacitors across the tank of band 4", Undo: "take both out; the original is in bag 7",
	Source: "pencilled sheet in the case",
	Claims: []receiver.Claim{
		{Figure: "settling_time", Conditions: map[string]string{"band_hz": "100"}, Direction: receiver.Smaller, Amount: 1. / 3, Relative: true,
			Words: "settles a third sooner", Source: "the sheet"},
		{Figure: "residual_drift", Direction: receiver.Smaller, Amount: 5, Words: "and stays put better"},
	},
}

var feet = receiver.Modification{
	SetID: "turnstone", Title: "Rubber feet", ActsOn: []string{"cabinet"}, Undo: "four screws",
	Claims: []receiver.Claim{{Figure: "wander", Direction: receiver.Smaller, Words: "wanders less"}},
}

// Warmup is a make-believe oscillator: where it ends, and two exponentials.
type Warmup struct{ EndHz, FastHz, FastS, SlowHz, SlowS, NoiseHz float64 }

// Sitting is one cold morning of 100 minutes, a reading a minute.
type Sitting struct {
	On         time.Time
	Seed       uint64
	Oscillator string // empty for the local one
	SlipRow    int    // a reading ten times too large, 0 for none
	OffTime    string // empty for 14 h
}

// Log writes a sitting's log: seconds and hertz.
func Log(w Warmup, s Sitting) []byte {
	rng := rand.New(rand.NewPCG(s.Seed, 1))
	scale, tempo := 1+0.02*rng.NormFloat64(), 1+0.03*rng.NormFloat64()
	var b strings.Builder
	b.WriteString("elapsed (s),frequency (Hz)\n")
	for i := range 100 {
		at := 60 * float64(i+1)
		hz := w.EndHz + scale*(w.FastHz*math.Exp(-at/(w.FastS*tempo))+w.SlowHz*math.Exp(-at/(w.SlowS*tempo))) + w.NoiseHz*rng.NormFloat64()
		if s.SlipRow > 0 && i == s.SlipRow {
			hz *= 10
		}
		fmt.Fprintf(&b, "%.0f,%.1f\n", at, hz)
	}
	return []byte(b.String())
}

// Enter imports a sitting's log into a state.
func Enter(t testing.TB, shop *workshop.Shop, state string, w Warmup, s Sitting) run.Run {
	t.Helper()
	if s.Oscillator == "" {
		s.Oscillator = "local"
	}
	if s.OffTime == "" {
		s.OffTime = "14 h"
	}
	counter := run.Instrument{ID: "counter-1", Name: "bench counter", Epoch: "2023", Reads: "frequency", Relative: 2e-7, Resolution: 0.1}
	data := Log(w, s)
	in, err := shop.Import(t.Context(), workshop.NewRun{
		State: state, Measurement: "drift", Started: s.On,
		Options: map[string]string{
			"oscillator": s.Oscillator, "off_time": s.OffTime, "dial": "7.9 MHz", "band": "4", "ambient": "19 °C", "line_voltage": "231 V", "power_on": "0 s",
		},
		Setup: run.Setup{Instruments: []run.Instrument{counter}, Operator: "A. Keeper"},
	}, intake.BytesSource("warmup-"+s.On.Format("2006-01-02")+".csv", data), intake.Override{}, nil)
	must(t, err)
	return in.Run
}

// AddState adds a configuration and a state of it from a date on.
func AddState(t testing.TB, shop *workshop.Shop, c receiver.Configuration, from time.Time) receiver.State {
	t.Helper()
	c, err := shop.AddConfiguration(t.Context(), c)
	must(t, err)
	st, err := shop.AddState(t.Context(), receiver.State{ConfigurationID: c.ID, From: from})
	must(t, err)
	return st
}

// StateOf returns the latest state that a selector names.
func StateOf(t testing.TB, shop *workshop.Shop, selector string) receiver.State {
	t.Helper()
	target, err := shop.Find(t.Context(), selector)
	must(t, err)
	return target.States[len(target.States)-1]
}

func day(n int) time.Time { return time.Date(2024, 2, n, 7, 30, 0, 0, time.UTC) }

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
