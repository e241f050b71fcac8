package workshop

import (
	"context"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/wire"
	"setwright/internal/wire/wiretest"
	"setwright/recording"
	"setwright/signal"
)

// outputs is a toy measurement that takes labelled recordings.
type outputs struct{ level }

func (outputs) About() measure.About {
	a := level{}.About()
	a.ID = "outputs"
	a.Recordings = []measure.RecordingSpec{{Role: "audio", Title: "audio output", Many: true,
		Labels: []measure.OptionSpec{{Name: "input", Title: "input level", Unit: "dBm", Example: "-73 dBm"}}}}
	return a
}

// listeningShop is a workshop with a set that can be listened to.
func listeningShop(t *testing.T) *Shop {
	t.Helper()
	s := newShop(t, outputs{}, level{})
	if _, err := s.AddSet(t.Context(), receiver.Set{Name: "Redshank"}, time.Time{}); err != nil {
		t.Fatal(err)
	}
	return s
}

// fakeInput is an invented beat note of 997 Hz at half of full scale, with a
// little noise, for so many seconds.
func fakeInput(seconds float64) wiretest.Input {
	x := make([]float64, int(48000*seconds))
	state := uint64(7)
	for i := range x {
		state = state*6364136223846793005 + 1442695040888963407
		x[i] = 0.5*math.Sin(2*math.Pi*997*float64(i)/48000) + 1e-4*(float64(state>>11)/(1<<53)-0.5)
		x[i] = float64(float32(x[i]))
	}
	return wiretest.Input{RateHz: 48000, Samples: x}
}

func listen(t *testing.T, s *Shop, in wire.SoundInput, n NewListening) (*Listening, wire.SoundCapture) {
	t.Helper()
	c, err := in.Open(t.Context(), wire.Want{})
	if err != nil {
		t.Fatal(err)
	}
	n.Sound = c.Sound()
	l, err := s.StartListening(t.Context(), n)
	if err != nil {
		t.Fatal(err)
	}
	return l, c
}

var toRedshank = NewListening{NewRun: NewRun{State: "redshank", Measurement: "outputs"}, Labels: map[string]string{"input": "-73 dBm"}}

// samplesOf reads a stored recording.
func samplesOf(t *testing.T, s *Shop, rec run.Recording) []float64 {
	t.Helper()
	path, size, err := s.Book.FilePath(t.Context(), rec.SHA256)
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := recording.Open(rec.Name, f, size)
	if err != nil {
		t.Fatal(err)
	}
	var out []float64
	block := make([]float64, 4096)
	for {
		n, err := r.Read(block)
		out = append(out, block[:n*r.Channels()]...)
		if err == io.EOF {
			if len(r.Warnings()) > 0 {
				t.Error(r.Warnings())
			}
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// TestListening: a beat note is recorded, marked and stored, sample by sample;
// the display says what it is; a second recording goes to the same run.
func TestListening(t *testing.T) {
	s := listeningShop(t)
	in := fakeInput(4)
	l, c := listen(t, s, in, toRedshank)
	seen, stop := l.Subscribe()
	defer stop()
	if err := l.Follow(t.Context(), c, 3*time.Second); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Mark("door slammed"); err != nil {
		t.Fatal(err)
	}
	st := l.Status()
	if st.Tone == nil || math.Abs(st.Tone.Hz-997) > 0.01 || st.Tone.NoiseU > 0.01 || math.Abs(st.Tone.U-997*58e-6) > 0.001 || math.Abs(st.Level.RMSdBFS+6.02) > 0.05 || math.Abs(st.Level.HoldDBFS+6.02) > 0.05 {
		t.Errorf("the display says %+v, %+v", st.Tone, st.Level)
	}
	if st.ElapsedS != 3 || st.RunID == "" || st.Labels["input"] != "-73 dBm" || st.Bytes < 3*48000*4 || len(st.Capture.Gaps) != 0 || *st.Capture.Gain || st.Capture.Echo != nil {
		t.Errorf("%+v", st)
	}
	if n := len(s.Listenings()); n != 1 {
		t.Errorf("%d are open", n)
	}
	got, err := l.Stop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var last ListeningStatus
	for last = range seen {
	}
	if !last.Over || last.Why != "" || !last.Stored || last.RunID != got.Run.ID {
		t.Errorf("the last the viewer saw: %+v", last)
	}
	if !slices.Equal(samplesOf(t, s, got.Recording), in.Samples[:3*48000]) {
		t.Error("what is stored is not what came")
	}
	rec := got.Recording
	if rec.Name != "audio -73 dBm.wav" || rec.Capture.Cut || rec.Capture.Path != "fake input" || rec.Marks[0] != (run.Mark{Frame: 144000, Text: "door slammed"}) || got.Run.Origin.How != "wire" {
		t.Errorf("%+v, %+v", rec, rec.Capture)
	}
	if _, err := l.Stop(t.Context()); err == nil {
		t.Error("stopped twice")
	}

	more := NewListening{Run: got.Run.ID, Labels: map[string]string{"input": "-63 dBm"}}
	l, c = listen(t, s, in, more)
	if err := l.Follow(t.Context(), c, 0); err != io.EOF {
		t.Fatal(err)
	}
	got, err = l.Stop(t.Context())
	if err != nil || len(got.Run.Recordings) != 2 || got.Run.Recordings[1].Labels["input"] != "-63 dBm" {
		t.Errorf("%+v, %v", got.Run, err)
	}
	if len(s.Listenings()) != 0 {
		t.Error("still open")
	}
}

// TestListeningFindsFaults: each fault of a path is found where it is, to the
// block, and nothing else is.
func TestListeningFindsFaults(t *testing.T) {
	for _, c := range []struct {
		trouble wiretest.Trouble
		lostS   float64
		frames  int64
		why     string
	}{
		{wiretest.Drop, 0.02, 128, ""}, {wiretest.Zero, 0, 960, "zeros"}, {wiretest.Repeat, 0, 960, "repeated block"}, {wiretest.Late, 0, -1, ""},
	} {
		for _, stamped := range []bool{false, true} {
			s := listeningShop(t)
			in := fakeInput(8)
			in.Stamped, in.Troubles = stamped, map[int]wiretest.Trouble{200: c.trouble}
			l, capture := listen(t, s, in, toRedshank)
			if err := l.Follow(t.Context(), capture, 0); err != io.EOF {
				t.Fatal(err)
			}
			got, err := l.Stop(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			gaps := got.Recording.Capture.Gaps
			if c.frames < 0 {
				if len(gaps) != 0 {
					t.Errorf("%s: %+v", c.trouble, gaps)
				}
				continue
			}
			if len(gaps) != 1 {
				t.Errorf("%s, stamped %t: %+v", c.trouble, stamped, gaps)
				continue
			}
			g := gaps[0]
			if d := g.Frame - 200*960; d < -960 || d > 960 || max(g.Frames-c.frames, c.frames-g.Frames) > 4 || stamped && math.Abs(g.LostS-c.lostS) > 1e-6 || c.why != "" && g.Why != c.why {
				t.Errorf("%s, stamped %t: %+v", c.trouble, stamped, g)
			}
		}
	}
}

// TestListeningEndsIll: a path that dies, and one that stalls until somebody
// stops it.
func TestListeningEndsIll(t *testing.T) {
	s := listeningShop(t)
	in := fakeInput(2)
	in.Troubles = map[int]wiretest.Trouble{50: wiretest.Die}
	l, c := listen(t, s, in, toRedshank)
	err := l.Follow(t.Context(), c, 0)
	why, cut := Ended(err, l.Elapsed(), 0)
	if !cut || !strings.Contains(why, "died") {
		t.Errorf("%q, %t", why, cut)
	}
	got, err := l.Cut(t.Context(), why)
	if err != nil || !got.Recording.Capture.Cut || got.Recording.Frames != 48000 || !strings.Contains(strings.Join(got.Recording.Capture.Notes, ";"), "died") {
		t.Errorf("%+v, %v", got.Recording, err)
	}
	in.Troubles = map[int]wiretest.Trouble{25: wiretest.Stall}
	l, c = listen(t, s, in, toRedshank)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	followed := make(chan error)
	go func() { followed <- l.Follow(ctx, c, 0) }()
	for l.Elapsed() < 500*time.Millisecond {
		time.Sleep(time.Millisecond)
	}
	stop()
	if err := <-followed; err != nil {
		t.Error(err)
	}
	if got, err := l.Stop(t.Context()); err != nil || got.Recording.Frames != 24000 || got.Run.ID == "" {
		t.Errorf("%+v, %v", got, err)
	}
}

// TestNothingCame: a listening that is stopped, or dies, before its first sample
// leaves nothing behind: no run, no file.
func TestNothingCame(t *testing.T) {
	s := listeningShop(t)
	for _, why := range []string{"", "the input was pulled out"} {
		l, _ := listen(t, s, fakeInput(1), toRedshank)
		status, _ := l.Subscribe()
		if _, err := l.end(t.Context(), why); !errors.Is(err, ErrNothingCame) || !strings.Contains(err.Error(), why) {
			t.Errorf("%q: %v", why, err)
		}
		if _, err := s.Book.Run(t.Context(), l.run.ID); err == nil {
			t.Errorf("%q: a run without sound", why)
		}
		var last ListeningStatus
		for last = range status {
		}
		if !last.Over || last.Stored || !strings.Contains(last.Fault, "not one sample") {
			t.Errorf("%q: a viewer is told %+v", why, last)
		}
	}
	left, err := s.UnfinishedListenings(t.Context(), true)
	if err != nil || len(left) != 0 || len(s.Listenings()) != 0 {
		t.Errorf("%+v, %v", left, err)
	}
	path := filepath.Join(t.TempDir(), "x.wav")
	l, err := s.ListenToFile(path, NewListening{Sound: wire.Sound{RateHz: 48000, Channels: 1, Coding: Float32}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.Stop(t.Context()); !errors.Is(err, ErrNothingCame) {
		t.Error(err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("an empty file is left")
	}
}

// TestListeningRecovered: the program dies; the next one finds the recording,
// and its run, whose id another run took meanwhile, is made under another.
func TestListeningRecovered(t *testing.T) {
	s := listeningShop(t)
	in := fakeInput(3)
	l, c := listen(t, s, in, toRedshank)
	if err := l.Follow(t.Context(), c, 2*time.Second); err != nil {
		t.Fatal(err)
	}
	l.sink.(bookSink).Leave() // as if the program died here
	if err := s.Book.AddRun(t.Context(), run.Run{ID: l.run.ID, StateID: l.run.StateID, Measurement: "level"}, run.Series{}); err != nil {
		t.Fatal(err)
	}
	waiting, err := s.UnfinishedListenings(t.Context(), false)
	if err != nil || len(waiting) != 1 || waiting[0].Seconds != 2 || waiting[0].Recording.Labels["input"] != "-73 dBm" || waiting[0].Living {
		t.Fatalf("%+v, %v", waiting, err)
	}
	got, err := s.Recover(t.Context(), waiting[0].ID)
	if err != nil || got.Run.ID == l.run.ID || !got.Recording.Capture.Cut || !slices.Equal(samplesOf(t, s, got.Recording), in.Samples[:2*48000]) {
		t.Errorf("%+v, %v", got, err)
	}
	if waiting, err := s.UnfinishedListenings(t.Context(), true); err != nil || len(waiting) != 0 {
		t.Errorf("%+v, %v", waiting, err)
	}
}

// TestListeningCalibrated shows hertz and volts by the calibration of the sound
// input, and says that it ran out.
func TestListeningCalibrated(t *testing.T) {
	s := listeningShop(t)
	n := toRedshank
	n.Setup.Instruments = []run.Instrument{{ID: "input-1", Name: "sound input", Reads: run.ReadsSound, Sound: &run.Sound{
		Made: time.Date(2023, 1, 1, 0, 0, 0, 0, time.UTC), Expires: time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC),
		FullScaleV: 2, FullScaleRelativeU: 0.01, RateError: 20e-6, RateErrorU: 1e-6}}}
	l, c := listen(t, s, fakeInput(3), n)
	if err := l.Follow(t.Context(), c, 0); err != io.EOF {
		t.Fatal(err)
	}
	st := l.Status()
	if st.Tone == nil || math.Abs(st.Tone.Hz-997*(1+20e-6)) > 0.002 || math.Abs(st.Tone.U-997e-6) > 5e-4 || math.Abs(st.Level.RMSV-1) > 0.005 || math.Abs(st.Level.RMSVU-0.01) > 1e-3 {
		t.Errorf("%+v, %+v", st.Tone, st.Level)
	}
	if len(st.Warnings) != 1 || !strings.Contains(st.Warnings[0], "ran out") {
		t.Errorf("%v", st.Warnings)
	}
	if _, err := l.Cut(t.Context(), "the program was stopped"); err != nil || len(s.Listenings()) != 0 {
		t.Errorf("%v, %d open", err, len(s.Listenings()))
	}
}

// TestListeningRefuses what it cannot be meant for, before anything is made.
func TestListeningRefuses(t *testing.T) {
	s := listeningShop(t)
	sound := wire.Sound{Path: "fake input", RateHz: 48000, Channels: 1, Coding: Float32}
	for want, n := range map[string]NewListening{
		"takes no recordings":                      {NewRun: NewRun{State: "redshank", Measurement: "level"}, Sound: sound},
		"expected what the recording is of: audio": {NewRun: toRedshank.NewRun, Role: "beat", Sound: sound},
		`found the label "gain", expected input`:   {NewRun: toRedshank.NewRun, Labels: map[string]string{"gain": "3"}, Sound: sound},
		"channel 2 of a sound input that has 1":    {NewRun: toRedshank.NewRun, Channel: 1, Sound: sound},
		"sample rate":                              {NewRun: toRedshank.NewRun, Sound: wire.Sound{RateHz: 44100.5, Channels: 1, Coding: Float32}},
		"there is no run":                          {Run: "nowhere", Sound: sound},
	} {
		if _, err := s.StartListening(t.Context(), n); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
	if left, _ := os.ReadDir(filepath.Join(s.Book.Dir(), "recordings", "growing")); len(left) != 0 {
		t.Errorf("left lying: %v", left)
	}
}

// TestListeningToNothing: zeros for long, samples that are no numbers, settings
// that must be off.
func TestListeningToNothing(t *testing.T) {
	s := listeningShop(t)
	on := true
	n := toRedshank
	n.Sound = wire.Sound{Path: "page worklet", RateHz: 48000, Channels: 2, Coding: Float32, Gain: &on, DeviceRate: 44100, PathRate: 48000}
	l, err := s.StartListening(t.Context(), n)
	if err != nil {
		t.Fatal(err)
	}
	for range 40 {
		if err := l.Feed(LiveBlock{Samples: make([]float64, 2*4800)}); err != nil {
			t.Fatal(err)
		}
	}
	bad := make([]float64, 2*480)
	bad[20], bad[21], bad[22] = math.NaN(), math.Inf(1), math.NaN()
	if err := l.Feed(LiveBlock{Samples: bad}); err != nil {
		t.Fatal(err)
	}
	if err := l.Feed(LiveBlock{Samples: bad[:3]}); err == nil {
		t.Error("half a frame was taken")
	}
	st := l.Status()
	notes := strings.Join(st.Capture.Notes, "; ")
	if !strings.Contains(notes, "every sample is zero") || !strings.Contains(notes, "automatic gain is on") || !strings.Contains(notes, "does not say whether echo cancelling is off") || !strings.Contains(notes, "converted on the way") || st.Level.RMSdBFS > -190 || st.Tone != nil {
		t.Errorf("%q, %+v", notes, st.Level)
	}
	if i := slices.Index(st.Capture.Gaps, signal.Gap{Frame: 40*4800 + 10, Frames: 2, Why: "no numbers"}); i < 0 {
		t.Errorf("%+v", st.Capture.Gaps)
	}
	if err := l.Discard(); err != nil {
		t.Error(err)
	}
	if err := l.Feed(LiveBlock{Samples: bad}); err == nil || errors.Is(err, io.EOF) {
		t.Error(err)
	}
	if open, err := s.UnfinishedListenings(t.Context(), true); err != nil || len(open) != 0 {
		t.Errorf("%+v, %v", open, err)
	}
}
