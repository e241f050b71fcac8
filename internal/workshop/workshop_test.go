package workshop

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/measure/drift"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/store"
	"setwright/judge"
	"setwright/quantity"
)

// newShop opens a workshop on an empty book with a clock that moves a minute
// with every look.
func newShop(t *testing.T, more ...measure.Measurement) *Shop {
	t.Helper()
	book, err := store.Open(t.Context(), t.TempDir()+"/book", store.Options{Create: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = book.Close() })
	registry, err := measure.NewRegistry(append([]measure.Measurement{drift.Measurement{}}, more...), nil)
	if err != nil {
		t.Fatal(err)
	}
	shop := New(book, registry)
	now := time.Date(2024, 5, 1, 8, 0, 0, 0, time.UTC)
	shop.Clock = func() time.Time { now = now.Add(time.Minute); return now }
	return shop
}

// warmUp is a simulated log: seconds and hertz, one reading every 30 s for two
// hours, excursion amp and time constant tau.
func warmUp(amp, tauMin float64, seed uint64) []byte {
	rng := rand.New(rand.NewPCG(seed, 1))
	amp *= 1 + 0.01*rng.NormFloat64()
	var b bytes.Buffer
	b.WriteString("elapsed (s),frequency (Hz)\n")
	for s := 30; s <= 7200; s += 30 {
		f := 8_512_000 - amp*math.Exp(-float64(s)/60/tauMin) + rng.NormFloat64()
		fmt.Fprintf(&b, "%d,%.1f\n", s, f)
	}
	return b.Bytes()
}

// addRun imports a simulated log into a state.
func addRun(t *testing.T, s *Shop, state string, log []byte, options map[string]string) run.Run {
	t.Helper()
	got, err := s.Import(t.Context(), NewRun{State: state, Measurement: "drift", Options: options}, intake.BytesSource("log.csv", log), intake.Override{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return got.Run
}

// cold are the conditions of a proper cold start.
func cold() map[string]string {
	return map[string]string{"oscillator": "local", "off_time": "14 h", "ambient": "18 °C", "line_voltage": "231 V", "dial": "7.9 MHz"}
}

// with returns conditions with one changed.
func with(o map[string]string, name, value string) map[string]string {
	o[name] = value
	return o
}

// twoStates makes a set as found and with a change that shortens its warm-up,
// three runs a side.
func twoStates(t *testing.T, s *Shop) {
	t.Helper()
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Redshank", IFHz: 612e3}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	mod, err := s.AddModification(t.Context(), receiver.Modification{SetID: "redshank", Title: "new capacitor", Claims: []receiver.Claim{
		{Figure: "settling_time", Conditions: map[string]string{"band_hz": "100"}, Direction: receiver.Smaller, Amount: 1.0 / 3, Relative: true},
	}})
	if err != nil {
		t.Fatal(err)
	}
	c, err := s.AddConfiguration(t.Context(), receiver.Configuration{SetID: "redshank", Name: "capacitor in", Modifications: []string{mod.ID}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddState(t.Context(), receiver.State{ConfigurationID: c.ID}); err != nil {
		t.Fatal(err)
	}
	for i := uint64(0); i < 3; i++ {
		addRun(t, s, "redshank/as-found", warmUp(2000, 20, i), cold())
		addRun(t, s, "redshank/capacitor-in", warmUp(800, 12, 10+i), cold())
	}
}

func TestModificationThatHelpsKeepsItsPromise(t *testing.T) {
	s := newShop(t)
	twoStates(t, s)
	rep, err := s.JudgeModification(t.Context(), "new-capacitor", CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if v := rep.Claims[0].Verdict; v == nil || v.Word != judge.Kept {
		t.Fatalf("claim judged %+v, sentences %q", rep.Claims[0], rep.Sentences)
	}
	// 20 min · ln(2000/100) = 59.9 min before, 12 min · ln(8) = 25.0 min after.
	v := rep.Claims[0].Verdict.Change
	if a, b := v.A.Estimate()/60, v.B.Estimate()/60; math.Abs(a-59.9) > 1.5 || math.Abs(b-25.0) > 1.5 {
		t.Errorf("settling %.1f and %.1f min, want 59.9 and 25.0", a, b)
	}
}

func TestRunsUnderOtherConditionsAreNotCompared(t *testing.T) {
	s := newShop(t)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Redshank"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	c, err := s.AddConfiguration(t.Context(), receiver.Configuration{SetID: "redshank", Name: "recapped"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddState(t.Context(), receiver.State{ConfigurationID: c.ID}); err != nil {
		t.Fatal(err)
	}
	for i := uint64(0); i < 2; i++ {
		addRun(t, s, "redshank/as-found", warmUp(2000, 20, i), cold())
		addRun(t, s, "redshank/recapped", warmUp(900, 20, 10+i), with(cold(), "oscillator", "bfo"))
	}
	got, err := s.Compare(t.Context(), "redshank/as-found", "redshank/recapped", CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !got.Fairness.Blocked || !strings.Contains(got.Sentences[0], "cannot be compared") {
		t.Errorf("local oscillator and BFO were compared: %q", got.Sentences)
	}
	for _, row := range got.Rows {
		if row.Verdict.Word != judge.CannotTell {
			t.Errorf("%s: %q in spite of it", row.Key, row.Verdict.Word)
		}
	}
}

func TestWarmStartIsLeftOutByName(t *testing.T) {
	s := newShop(t)
	twoStates(t, s)
	addRun(t, s, "redshank/capacitor-in", warmUp(100, 12, 99), with(cold(), "off_time", "20 min"))
	got, err := s.Compare(t.Context(), "redshank/as-found", "redshank/capacitor-in", CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if got.Fairness.Blocked || len(got.B.Results) != 3 || len(got.Notes) != 1 || !strings.Contains(got.Notes[0], "only 20 min") {
		t.Errorf("blocked %v, %d runs, notes %q", got.Fairness.Blocked, len(got.B.Results), got.Notes)
	}
}

func TestLogImportedTwiceIsNoRepeat(t *testing.T) {
	s := newShop(t)
	twoStates(t, s)
	addRun(t, s, "redshank/as-found", warmUp(2000, 20, 0), cold())
	got, err := s.Compare(t.Context(), "redshank/as-found", "redshank/capacitor-in", CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.A.Results) != 3 || len(got.Notes) != 1 || !strings.Contains(got.Notes[0], "byte for byte") {
		t.Errorf("%d runs on side A, notes %q", len(got.A.Results), got.Notes)
	}
}

func TestOneRunASideCannotTellYet(t *testing.T) {
	s := newShop(t)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Redshank"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	c, err := s.AddConfiguration(t.Context(), receiver.Configuration{SetID: "redshank", Name: "recapped"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddState(t.Context(), receiver.State{ConfigurationID: c.ID}); err != nil {
		t.Fatal(err)
	}
	addRun(t, s, "redshank/as-found", warmUp(2000, 20, 1), cold())
	addRun(t, s, "redshank/recapped", warmUp(500, 20, 2), cold())
	got, err := s.Compare(t.Context(), "redshank/as-found", "redshank/recapped", CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range got.Rows {
		if row.Spec.ID == "excursion" && row.Verdict.Word != judge.CannotTell {
			t.Errorf("one run a side, yet %q", row.Verdict.Word)
		}
	}
}

// How well one set repeats says nothing of another: a single run of a set whose
// own scatter nobody has seen decides nothing, however often the other was run.
func TestScatterOfOneSetIsNotLentToAnother(t *testing.T) {
	s := newShop(t)
	twoStates(t, s)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Knot"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	addRun(t, s, "knot/as-found", warmUp(5000, 20, 9), cold())
	got, err := s.Compare(t.Context(), "redshank/as-found", "knot/as-found", CompareOptions{Figures: []string{"excursion"}})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Rows) != 1 || got.Rows[0].Verdict.Word != judge.CannotTell {
		t.Errorf("one run of the other set, yet %+v", got.Rows)
	}
}

func TestImportedFileIsKeptByteForByte(t *testing.T) {
	s := newShop(t)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Redshank"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	log := []byte("Zeit;Frequenz/kHz\r\n0:30;8.511,95\r\n1:00;8.511,96\r\n1:30;8.511,97\r\n")
	r := addRun(t, s, "redshank", log, nil)
	f, name, err := s.RawFile(t.Context(), r.ID)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	back, err := io.ReadAll(f)
	if err != nil || !bytes.Equal(back, log) || name != "log.csv" {
		t.Errorf("%s: %q, %v", name, back, err)
	}
	series, err := s.Book.Series(t.Context(), r.ID)
	if err != nil {
		t.Fatal(err)
	}
	if f := series.Column("frequency"); f == nil || f.Values[0] != 8511950 {
		t.Errorf("frequencies %+v", f)
	}
}

func TestTypedReadingsSurviveAndStrikingKeepsThem(t *testing.T) {
	s := newShop(t)
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Redshank"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	r, err := s.StartTyping(t.Context(), NewRun{State: "redshank", Measurement: "drift"}, "kHz")
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"8511.2", "8.5115 MHz", "85118"} {
		if _, err := s.TypeReading(t.Context(), r.ID, text); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.TypeReading(t.Context(), r.ID, "what?"); err == nil {
		t.Error("words were taken for a reading")
	}
	struck, err := s.StrikeLast(t.Context(), r.ID)
	if err != nil || struck.Text != "85118" {
		t.Fatalf("struck %+v, %v", struck, err)
	}
	all, err := s.TypedReadings(t.Context(), r.ID)
	if err != nil || len(all) != 3 || !all[2].Struck || all[1].Value != 8511500 {
		t.Fatalf("readings %+v, %v", all, err)
	}
	res, err := s.Result(t.Context(), r.ID, nil, nil)
	if err != nil || res.Raw.Series.Len() != 2 {
		t.Errorf("analysis saw %d readings, %v", res.Raw.Series.Len(), err)
	}
}

func TestFiguresComeBackFromTheCacheAsTheyWere(t *testing.T) {
	s := newShop(t)
	twoStates(t, s)
	target, err := s.Find(t.Context(), "redshank/as-found")
	if err != nil {
		t.Fatal(err)
	}
	runs, err := s.targetRuns(t.Context(), target)
	if err != nil {
		t.Fatal(err)
	}
	first, err := s.Result(t.Context(), runs[0].ID, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	again, err := s.Result(t.Context(), runs[0].ID, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(first.Analysis.Figures) != len(again.Analysis.Figures) || len(again.Analysis.Plots) != len(first.Analysis.Plots) {
		t.Fatalf("%d figures and %d plots, then %d and %d", len(first.Analysis.Figures), len(first.Analysis.Plots), len(again.Analysis.Figures), len(again.Analysis.Plots))
	}
	for i, f := range first.Analysis.Figures {
		g := again.Analysis.Figures[i]
		if d := f.Value.Sub(g.Value); f.Kind == quantity.KindValue && (d.Estimate() != 0 || d.U() != 0) {
			t.Errorf("%s: %v ± %v is left between the two", f.ID, d.Estimate(), d.U())
		}
	}
	// Figures are a cache: without them nothing is lost.
	if err := s.Book.DropFigures(t.Context()); err != nil {
		t.Fatal(err)
	}
	anew, err := s.Result(t.Context(), runs[0].ID, nil, nil)
	if err != nil || anew.Analysis.Sentences[0] != first.Analysis.Sentences[0] {
		t.Errorf("computed anew: %q, %v", anew.Analysis.Sentences, err)
	}
}

// level is a second measurement, as a newcomer would add it: one type, one line
// where the registry is made. Nothing else in the program knows it.
type level struct{}

func (level) About() measure.About {
	return measure.About{
		ID: "level", Title: "Output level", Method: "level/1",
		Columns: []measure.ColumnSpec{
			{Role: "time", Title: "time", Unit: "s", Required: true},
			{Role: "output", Title: "output", Unit: "dB", Required: true, Aliases: []string{"output"}},
		},
		Figures: []measure.FigureSpec{{ID: "mean_level", Title: "mean level", Unit: "dB", Better: "larger", Matters: 1, Why: "a decibel is just heard"}},
	}
}

func (level) Next(measure.Raw) measure.Step { return measure.Step{Done: true} }

func (level) Analyse(_ context.Context, raw measure.Raw, _ func(float64)) (measure.Analysis, error) {
	c := raw.Series.Column("output")
	sum := 0.0
	for _, v := range c.Values {
		sum += v
	}
	n := float64(len(c.Values))
	v := quantity.New(sum/n, quantity.Contribution{Source: quantity.RunSource(raw.RunID, "noise").Source("noise", n-1), C: 0.1})
	return measure.Analysis{Figures: []run.Figure{{ID: "mean_level", Unit: "dB", Outcome: quantity.Known(v), Method: "level/1"}}}, nil
}

func TestSecondMeasurementIsOneTypeAndOneLine(t *testing.T) {
	s := newShop(t, level{})
	a, err := s.AnalyseFile(t.Context(), "level", intake.BytesSource("l.csv", []byte("time (s);output (dB)\n0;3,0\n1;3,2\n2;3,4\n")), intake.Override{}, nil, run.Setup{}, nil)
	if err != nil || math.Abs(a.Analysis.Figures[0].Value.Estimate()-3.2) > 1e-12 {
		t.Fatalf("%+v, %v", a.Analysis, err)
	}
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Redshank"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	c, err := s.AddConfiguration(t.Context(), receiver.Configuration{SetID: "redshank", Name: "new output valve"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddState(t.Context(), receiver.State{ConfigurationID: c.ID}); err != nil {
		t.Fatal(err)
	}
	for i := 0; i < 3; i++ {
		for state, base := range map[string]float64{"redshank/as-found": 3, "redshank/new-output-valve": 7} {
			log := fmt.Sprintf("time (s),output (dB)\n0,%.2f\n1,%.2f\n2,%.2f\n", base+0.1*float64(i), base+0.1, base)
			if _, err := s.Import(t.Context(), NewRun{State: state, Measurement: "level"}, intake.BytesSource("l.csv", []byte(log)), intake.Override{}, nil); err != nil {
				t.Fatal(err)
			}
		}
	}
	got, err := s.Compare(t.Context(), "redshank/as-found", "redshank/new-output-valve", CompareOptions{})
	if err != nil || len(got.Rows) != 1 || got.Rows[0].Verdict.Word != judge.Better {
		t.Fatalf("%+v, %v", got.Sentences, err)
	}
}
