package main

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"setwright/internal/run"
	"setwright/internal/store"
	"setwright/signal"
)

// beatNote is raw 16-bit samples of an invented beat note of 997 Hz at half of
// full scale, over a little hiss.
func beatNote(seconds float64) []byte {
	var out []byte
	state := uint64(7)
	for i := range int(48000 * seconds) {
		state = state*6364136223846793005 + 1442695040888963407
		v := 16384*math.Sin(2*math.Pi*997*float64(i)/48000) + 8*(float64(state>>11)/(1<<53)-0.5)
		out = binary.LittleEndian.AppendUint16(out, uint16(int16(math.Round(v))))
	}
	return out
}

// toBook are the arguments of a recording for the book.
func toBook(book string, more ...string) []string {
	return append([]string{"bench", "listen", "--raw", "--rate", "48000", "--state", "turnstone", "--measurement", "agc", "--role", "step", "--book", book}, more...)
}

// recorded are the recordings of a book, and what lies unfinished.
func recorded(t *testing.T, dir string) (all []run.Recording, unfinished []store.UnfinishedRecording, book *store.Book) {
	t.Helper()
	book, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = book.Close() })
	runs, err := book.Runs(t.Context(), store.RunFilter{})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range runs {
		all = append(all, r.Recordings...)
	}
	if unfinished, err = book.UnfinishedRecordings(t.Context()); err != nil {
		t.Fatal(err)
	}
	return all, unfinished, book
}

// wantSamples checks that a stored recording holds exactly the beginning of what
// was piped in.
func wantSamples(t *testing.T, book *store.Book, rec run.Recording, piped []byte) {
	t.Helper()
	path, size, err := book.FilePath(t.Context(), rec.SHA256)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	frames := int(rec.Frames)
	if got := string(data[size-int64(2*frames):]); 2*frames > len(piped) || got != string(piped[:2*frames]) {
		t.Errorf("the %d frames stored are not those that were piped in", frames)
	}
}

// growing waits until so many bytes of sound lie in the book.
func growing(t *testing.T, dir string, bytes int64) {
	t.Helper()
	for end := time.Now().Add(time.Minute); ; time.Sleep(5 * time.Millisecond) {
		found, _ := filepath.Glob(filepath.Join(dir, "recordings", "growing", "*", "sound.wav"))
		if len(found) == 1 {
			if info, err := os.Stat(found[0]); err == nil && info.Size() >= bytes {
				return
			}
		}
		if time.Now().After(end) {
			t.Fatal("the recording does not grow")
		}
	}
}

// TestListenToAPipe: a recorder that ends tells no fault; all is in the book.
func TestListenToAPipe(t *testing.T) {
	t.Parallel()
	dir, note := bookOfOne(t), beatNote(2)
	s := typed(t, string(note), toBook(dir, "--label", "input=-73 dBm")...)
	if s.status != exitDone || !strings.HasPrefix(s.out, "2.0 s of sound (step) are in the book as recording 1 of run turnstone-agc-") || !strings.Contains(s.out, "last level −6.0 dBFS") || !strings.Contains(s.out, "No sample is known to be missing") {
		t.Fatalf("status %d, said %s%s", s.status, s.out, s.err)
	}
	id := strings.TrimSuffix(strings.Fields(s.out[strings.Index(s.out, "of run "):])[2], ".")
	s = typed(t, string(note), "bench", "listen", "--raw", "--rate", "48 kHz", "--run", id, "--role", "step", "--for", "1s", "--json", "--book", dir)
	var got struct {
		RunID     string        `json:"run_id"`
		Recording run.Recording `json:"recording"`
	}
	if err := json.Unmarshal([]byte(s.out), &got); err != nil || s.status != exitDone || got.RunID != id || got.Recording.Frames != 48000 {
		t.Errorf("status %d, %v: %s%s", s.status, err, s.out, s.err)
	}
	all, unfinished, book := recorded(t, dir)
	if len(all) != 2 || len(unfinished) != 0 || all[0].Frames != 96000 {
		t.Fatalf("%+v, %+v", all, unfinished)
	}
	for _, rec := range all {
		wantSamples(t, book, rec, note)
	}
}

// TestListenWithFaults puts faults into the stream: each is said and marked in
// the recording, at its place.
func TestListenWithFaults(t *testing.T) {
	t.Parallel()
	note := beatNote(6)
	const block, at = 960, 150 // 20 ms, at 3 s
	cut := func(from, to int, put []byte) []byte {
		return append(append(append([]byte(nil), note[:2*from]...), put...), note[2*to:]...)
	}
	for _, c := range []struct {
		what   string
		stream []byte
		want   *signal.Gap
		cut    bool
		said   string
	}{
		{"whole", note, nil, false, "No sample is known"},
		{"zeros", cut(at*block, (at+1)*block, make([]byte, 2*block)), &signal.Gap{Frame: at * block, Frames: block, Why: "zeros"}, false, "at 0:03.0  zeros, 20.0 ms"},
		{"repeated", cut(at*block, (at+1)*block, note[2*(at-1)*block:2*at*block]), &signal.Gap{Frame: at * block, Frames: block, Why: "repeated block"}, false, "repeated block, 20.0 ms"},
		{"lost", cut(at*block, (at+1)*block, nil), &signal.Gap{Frame: at * block, Why: "phase jump"}, false, "phase jump"},
		{"half a frame", note[:len(note)-1], nil, true, "ended inside a frame"},
	} {
		dir := bookOfOne(t)
		s := typed(t, string(c.stream), toBook(dir)...)
		if c.cut != (s.status == exitData) || c.cut != strings.Contains(s.err, "what came until then is kept") || !strings.Contains(strings.Join(strings.Fields(s.out), " "), strings.Join(strings.Fields(c.said), " ")) {
			t.Errorf("%s: status %d, said %s%s", c.what, s.status, s.out, s.err)
		}
		all, _, book := recorded(t, dir)
		if len(all) != 1 || all[0].Capture.Cut != c.cut || all[0].Frames != int64(len(c.stream)/2) {
			t.Fatalf("%s: %+v", c.what, all)
		}
		wantSamples(t, book, all[0], c.stream)
		gaps := all[0].Capture.Gaps
		if c.want == nil {
			if len(gaps) != 0 {
				t.Errorf("%s: %+v", c.what, gaps)
			}
			continue
		}
		if len(gaps) != 1 {
			t.Errorf("%s: %+v", c.what, gaps)
			continue
		}
		if d := gaps[0].Frame - c.want.Frame; d < -block || d > block || gaps[0].Why != c.want.Why || c.want.Frames > 0 && max(gaps[0].Frames-c.want.Frames, c.want.Frames-gaps[0].Frames) > 4 {
			t.Errorf("%s: %+v, expected %+v", c.what, gaps[0], *c.want)
		}
	}
}

// TestListenRefuses what is not sound, before anything is in the book.
func TestListenRefuses(t *testing.T) {
	t.Parallel()
	dir := bookOfOne(t)
	for what, c := range map[string]struct {
		stream string
		args   []string
		status int
		said   string
	}{
		"text":        {"usage: recorder [options] FILE, with a great many options\n", toBook(dir), exitData, "found text"},
		"no rate":     {string(beatNote(1)), []string{"bench", "listen", "--raw", "--to", filepath.Join(t.TempDir(), "x.wav")}, exitData, "--rate 48000"},
		"no aim":      {"", []string{"bench", "listen", "--raw", "--rate", "48000"}, exitUsage, "--state or --run"},
		"format":      {"", toBook(dir, "--format", "s17le"), exitUsage, "expected one of u8, s16le"},
		"channels":    {string(beatNote(1)), toBook(dir, "--channels", "-1"), exitUsage, "more than zero"},
		"many":        {string(beatNote(1)), toBook(dir, "--channels", "300"), exitData, "expected 1 to 64"},
		"stall":       {string(beatNote(1)), toBook(dir, "--stall", "-1 s"), exitUsage, "more than zero"},
		"role":        {string(beatNote(1)), toBook(dir, "--role", "hum"), exitUsage, "what the recording is of"},
		"label":       {string(beatNote(1)), toBook(dir, "--label", "colour=blue"), exitUsage, "expected one of"},
		"no input":    {"", toBook(dir), exitData, "before the first sample"},
		"wrong shape": {string(beatNote(1)), toBook(dir, "--format", "f32le"), exitData, "expected floating-point samples"},
	} {
		s := typed(t, c.stream, c.args...)
		if s.status != c.status || !strings.Contains(s.err, c.said) {
			t.Errorf("%s: status %d, said %s%s", what, s.status, s.out, s.err)
			continue
		}
		checkMessage(t, s)
	}
	if got := keptIn(t, dir); got != (kept{}) {
		t.Errorf("the book holds %+v", got)
	}
}

// TestListenToFile needs no book, and writes nothing over.
func TestListenToFile(t *testing.T) {
	t.Parallel()
	path, note := filepath.Join(t.TempDir(), "beat.wav"), beatNote(1)
	args := []string{"bench", "listen", "--raw", "--rate", "48000", "--to", path}
	if s := typed(t, string(note), args...); s.status != exitDone || !strings.HasPrefix(s.out, "1.0 s of sound are in "+path) {
		t.Fatalf("status %d, said %s%s", s.status, s.out, s.err)
	}
	data, err := os.ReadFile(path)
	if err != nil || string(data[len(data)-len(note):]) != string(note) || binary.LittleEndian.Uint32(data[4:]) != uint32(len(data)-8) {
		t.Errorf("%d bytes, %v", len(data), err)
	}
	if s := typed(t, string(note), args...); s.status != exitData || !strings.Contains(s.err, "never written over") {
		t.Errorf("status %d, said %s%s", s.status, s.out, s.err)
	}
}

// TestListenStopped is Ctrl-C while the sound still comes: what came is kept.
func TestListenStopped(t *testing.T) {
	dir, note := bookOfOne(t), beatNote(2)
	p := start(t, toBook(dir)...)
	if _, err := p.in.Write(note); err != nil {
		t.Fatal(err)
	}
	growing(t, dir, int64(len(note)))
	if out := done(t, "bench", "recover", "--list", "--book", dir); !strings.Contains(out, "is being made") {
		t.Errorf("listed by another program: %s", out)
	}
	if out := done(t, "bench", "recover", "--book", dir); out != "No recording waits to be finished.\n" {
		t.Errorf("another program took it: %s", out)
	}
	interrupt(t, p)
	s := p.ended(t)
	if s.status != exitDone || !strings.HasPrefix(s.out, "2.0 s of sound") || s.err != "" {
		t.Errorf("status %d, said %s%s", s.status, s.out, s.err)
	}
	all, _, book := recorded(t, dir)
	if len(all) != 1 || all[0].Capture.Cut {
		t.Fatalf("%+v", all)
	}
	wantSamples(t, book, all[0], note)
}

// TestListenStalls: the recorder lives and sends nothing any more.
func TestListenStalls(t *testing.T) {
	dir, note := bookOfOne(t), beatNote(1)
	p := start(t, toBook(dir, "--stall", "1s")...)
	if _, err := p.in.Write(note); err != nil {
		t.Fatal(err)
	}
	s := p.ended(t)
	if s.status != exitData || !strings.Contains(s.err, "no sample has come for 1s") || !strings.Contains(s.err, "is kept") {
		t.Errorf("status %d, said %s%s", s.status, s.out, s.err)
	}
	all, _, book := recorded(t, dir)
	if len(all) != 1 || !all[0].Capture.Cut || all[0].Frames != 48000 {
		t.Fatalf("%+v", all)
	}
	wantSamples(t, book, all[0], note)
}

// TestListenKilled is kill −9, or the power going, in the middle: the next
// program says that a recording waits, and stores it.
func TestListenKilled(t *testing.T) {
	dir, note := bookOfOne(t), beatNote(3)
	p := start(t, toBook(dir, "--label", "input=-53 dBm")...)
	if _, err := p.in.Write(note); err != nil {
		t.Fatal(err)
	}
	growing(t, dir, int64(len(note)))
	if err := p.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = p.Wait()
	if out := done(t, "bench", "recover", "--list", "--book", dir); !strings.Contains(out, "3.0 s") || !strings.Contains(out, "waits to be recovered") {
		t.Errorf("listed: %s", out)
	}
	s := typed(t, string(note[:96000]), toBook(dir)...)
	if s.status != exitDone || !strings.Contains(s.err, "1 recording left unfinished") || !strings.Contains(s.err, "bench recover") {
		t.Errorf("status %d, said %s%s", s.status, s.out, s.err)
	}
	if out := done(t, "bench", "recover", "--book", dir); !strings.HasPrefix(out, "3.0 s of sound (step) are in the book as recording 1 of run turnstone-agc-") {
		t.Errorf("recovering: %s", out)
	}
	if out := done(t, "bench", "recover", "--book", dir); out != "No recording waits to be finished.\n" {
		t.Errorf("then: %s", out)
	}
	all, unfinished, book := recorded(t, dir)
	if len(all) != 2 || len(unfinished) != 0 {
		t.Fatalf("%+v", all)
	}
	for _, rec := range all {
		wantSamples(t, book, rec, note)
		if rec.Frames == 144000 && (!rec.Capture.Cut || rec.Labels["input"] != "-53 dBm") {
			t.Errorf("%+v", rec)
		}
	}
}
