package store

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"setwright/internal/run"
)

// longLog is a simulated log of a counter: even times, a drifting frequency
// with six decimals.
func longLog(n int) run.Series {
	r := rand.New(rand.NewPCG(1, 2))
	time, freq := make([]float64, n), make([]float64, n)
	for i := range n {
		time[i] = float64(i)
		freq[i] = math.Round((1e7+40*math.Exp(-float64(i)/9000)+0.01*r.NormFloat64())*1e6) / 1e6
	}
	return run.Series{Columns: []run.Column{{Role: "time", Unit: "s", Values: time}, {Role: "frequency", Unit: "Hz", Values: freq, Resolution: 1e-6}}}
}

// part is rows from..to of a series.
func part(s run.Series, from, to int) run.Series {
	var out run.Series
	for _, c := range s.Columns {
		c.Values = c.Values[from:to]
		if c.Text != nil {
			c.Text = c.Text[from:to]
		}
		out.Columns = append(out.Columns, c)
	}
	return out
}

// TestDigestDoesNotDependOnTheWayIn stores the same readings in one go, in
// batches of any size, and one append at a time.
func TestDigestDoesNotDependOnTheWayIn(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	n := 0
	rapid.Check(t, func(rt *rapid.T) {
		n++
		s := longLog(rapid.IntRange(1, 60).Draw(rt, "rows"))
		if rapid.Bool().Draw(rt, "typed") {
			s.Columns[1].Text = make([]string, s.Len())
			for i := range s.Columns[1].Text {
				s.Columns[1].Text[i] = rapid.SampledFrom([]string{"", "7.0651", "over"}).Draw(rt, "text")
			}
		}
		if rapid.Bool().Draw(rt, "missing") {
			s.Columns[1].Values[s.Len()/2] = math.NaN()
		}
		whole, batches, live := fmt.Sprint("whole-", n), fmt.Sprint("batches-", n), fmt.Sprint("live-", n)
		must(t, b.AddRun(ctx, driftRun(whole), s))
		w, err := b.BeginRun(ctx, driftRun(batches))
		must(t, err)
		must(t, b.OpenRun(ctx, driftRun(live)))
		for from := 0; from < s.Len(); {
			to := rapid.IntRange(from+1, s.Len()).Draw(rt, "to")
			must(t, w.Append(part(s, from, to)))
			must(t, b.AppendReadings(ctx, live, part(s, from, to)))
			from = to
		}
		must(t, w.Finish())
		digest, err := b.SeriesDigest(ctx, whole)
		must(t, err)
		check := func(when string) {
			for _, id := range []string{whole, batches, live} {
				wantSeries(t, b, id, s)
				if got, err := b.SeriesDigest(ctx, id); err != nil || got != digest {
					rt.Fatalf("%s: digest of %s is %s, %v, expected %s", when, id, got, err, digest)
				}
			}
		}
		check("as stored")
		must(t, b.CloseRun(ctx, live))
		check("closed")
	})
	report, err := b.Verify(ctx)
	must(t, err)
	if len(report.Problems) > 0 {
		t.Error(report.Problems)
	}
}

func TestDigestSeesEveryChange(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	changed := map[string]func(s *run.Series){
		"value":      func(s *run.Series) { s.Columns[1].Values[1]++ },
		"sign of 0":  func(s *run.Series) { s.Columns[0].Values[0] = math.Copysign(0, -1) },
		"text":       func(s *run.Series) { s.Columns[1].Text[3] = "7.06510" },
		"text moved": func(s *run.Series) { x := s.Columns[1].Text; x[2], x[3] = x[3], x[2] },
		"unit":       func(s *run.Series) { s.Columns[1].Unit = "kHz" },
		"role":       func(s *run.Series) { s.Columns[1].Role = "ambient" },
		"resolution": func(s *run.Series) { s.Columns[1].Resolution = 10 },
		"row less":   func(s *run.Series) { *s = part(*s, 0, 3) },
	}
	must(t, b.AddRun(ctx, driftRun("plain"), glances()))
	plain, err := b.SeriesDigest(ctx, "plain")
	must(t, err)
	for name, change := range changed {
		s := glances()
		change(&s)
		must(t, b.AddRun(ctx, driftRun(name), s))
		if got, err := b.SeriesDigest(ctx, name); err != nil || got == plain {
			t.Errorf("%s: digest %s, %v, expected another than %s", name, got, err, plain)
		}
	}
}

func TestImportInBatches(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	s := longLog(2*chunkRows + 1234)
	w, err := b.BeginRun(ctx, driftRun("import"))
	must(t, err)
	for from := 0; from < s.Len(); from += 1000 {
		must(t, w.Append(part(s, from, min(s.Len(), from+1000))))
	}
	if all, err := b.Runs(ctx, RunFilter{}); err != nil || len(all) != 0 {
		t.Errorf("before Finish the book shows %v, %v", all, err)
	}
	must(t, w.Finish())
	w.Abort()
	wantKind(t, w.Finish(), ErrClosed)
	wantSeries(t, b, "import", s)
	rows := 0
	must(t, b.EachChunk(ctx, "import", func(first int, c run.Series) error {
		if first != rows || !sameSeries(c, part(s, first, first+c.Len())) {
			return fmt.Errorf("chunk at row %d differs", first)
		}
		rows += c.Len()
		return nil
	}))
	if n, err := b.Readings(ctx, "import"); err != nil || n != s.Len() || rows != n {
		t.Errorf("%d readings, %d in chunks, %v", n, rows, err)
	}
	stop := errors.New("seen enough")
	if err := b.EachChunk(ctx, "import", func(int, run.Series) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("EachChunk gave %v, expected the error of the function", err)
	}
}

// TestImportGivenUp: after Abort, and after a batch that does not fit, the book
// holds nothing of the run and can be written.
func TestImportGivenUp(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	w, err := b.BeginRun(ctx, driftRun("import"))
	must(t, err)
	must(t, w.Append(longLog(20000)))
	must(t, w.flush()) // as if it were large
	w.Abort()
	wantKind(t, w.Append(longLog(1)), ErrClosed)
	w, err = b.BeginRun(ctx, driftRun("import"))
	must(t, err)
	must(t, w.Append(longLog(20000)))
	wantKind(t, w.Append(run.Series{Columns: glances().Columns[:1]}), ErrInvalid, "2 columns")
	wantKind(t, w.Finish(), ErrInvalid)
	_, err = b.Run(ctx, "import")
	wantKind(t, err, ErrNotFound)
	must(t, b.AddRun(ctx, driftRun("import"), glances()))
}

// TestTypingReadings is a sitting at the bench: readings one at a time, the
// last one struck out, the run closed, closed too early, gone on with.
func TestTypingReadings(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	must(t, b.OpenRun(ctx, driftRun("typed")))
	s := glances()
	for i := range 3 {
		must(t, b.AppendReadings(ctx, "typed", part(s, i, i+1)))
	}
	must(t, b.AddAmendment(ctx, run.Amendment{ID: "a", RunID: "typed", Kind: run.AmendStrike, Row: 2, Reason: "misread"}))
	r, err := b.Run(ctx, "typed")
	must(t, err)
	if !r.Open {
		t.Error("the run is not open")
	}
	wider := run.Series{Columns: append(part(s, 3, 4).Columns, run.Column{Role: "ambient", Unit: "°C", Values: []float64{18}})}
	wantKind(t, b.AppendReadings(ctx, "typed", wider), ErrInvalid, "2 columns")
	must(t, b.CloseRun(ctx, "typed"))
	wantKind(t, b.AppendReadings(ctx, "typed", part(s, 3, 4)), ErrClosed)
	wantKind(t, b.CloseRun(ctx, "typed"), ErrClosed)
	must(t, b.ReopenRun(ctx, "typed"))
	must(t, b.AppendReadings(ctx, "typed", part(s, 3, 4)))
	must(t, b.CloseRun(ctx, "typed"))
	wantSeries(t, b, "typed", s)
	if r, err = b.Run(ctx, "typed"); err != nil || r.Open {
		t.Errorf("open %v, %v", r.Open, err)
	}
}

// TestCoarsestResolutionHolds: a reading given to fewer digits makes the whole
// column coarser, it never makes it finer.
func TestCoarsestResolutionHolds(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	must(t, b.OpenRun(ctx, driftRun("typed")))
	for _, res := range []float64{0, 10, 100, 1} {
		must(t, b.AppendReadings(ctx, "typed", run.Series{Columns: []run.Column{{Role: "frequency", Unit: "Hz", Values: []float64{7e6}, Resolution: res}}}))
	}
	s, err := b.Series(ctx, "typed")
	must(t, err)
	if got := s.Columns[0].Resolution; got != 100 {
		t.Errorf("resolution %v, expected 100", got)
	}
}

// TestHashStateOfAnotherVersion: the saved state of a hash that this program
// cannot read is computed again from the readings.
func TestHashStateOfAnotherVersion(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	must(t, b.OpenRun(ctx, driftRun("typed")))
	must(t, b.AppendReadings(ctx, "typed", part(glances(), 0, 2)))
	_, err := b.writer.Exec("UPDATE series SET value_state = x'00', text_state = x'00'")
	must(t, err)
	must(t, b.AppendReadings(ctx, "typed", part(glances(), 2, 4)))
	must(t, b.AddRun(ctx, driftRun("whole"), glances()))
	x, err := b.SeriesDigest(ctx, "typed")
	must(t, err)
	y, err := b.SeriesDigest(ctx, "whole")
	must(t, err)
	if x != y {
		t.Errorf("digests %s and %s differ", x, y)
	}
}

// TestDamagedChunk: turned bits, a chunk lost, a chunk twice, readings put in
// by another hand.
func TestDamagedChunk(t *testing.T) {
	for name, statement := range map[string]string{
		"cut":          "UPDATE chunks SET data = substr(data, 1, 100) WHERE seq = 1",
		"lost":         "DELETE FROM chunks WHERE seq = 1",
		"last lost":    "DELETE FROM chunks WHERE seq = 2",
		"other's data": "UPDATE chunks SET data = (SELECT data FROM chunks WHERE seq = 0) WHERE seq = 2",
		"wrong count":  "UPDATE series SET readings = readings - 1",
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(t)
			furnish(t, b)
			must(t, b.AddRun(ctx, driftRun("drift-1"), longLog(40000)))
			must(t, b.AddRun(ctx, driftRun("drift-2"), glances()))
			_, err := b.writer.Exec(statement + map[bool]string{true: "", false: " AND run_id = 'drift-1'"}[name == "wrong count"])
			must(t, err)
			_, err = b.Series(ctx, "drift-1")
			wantKind(t, err, ErrDamaged, `run "drift-1"`)
			report, err := b.Verify(ctx)
			must(t, err)
			if len(report.Problems) == 0 {
				t.Error("verify found nothing")
			}
		})
	}
	t.Run("same length, other readings", func(t *testing.T) {
		b := newBook(t)
		furnish(t, b)
		must(t, b.AddRun(ctx, driftRun("drift-1"), longLog(100)))
		other := longLog(100)
		other.Columns[1].Values[50]++
		must(t, b.AddRun(ctx, driftRun("drift-2"), other))
		_, err := b.writer.Exec("UPDATE chunks SET data = (SELECT data FROM chunks WHERE run_id = 'drift-2') WHERE run_id = 'drift-1'")
		must(t, err)
		report, err := b.Verify(ctx)
		must(t, err)
		if len(report.Problems) != 1 {
			t.Errorf("verify found %v, expected one problem", report.Problems)
		}
	})
}
