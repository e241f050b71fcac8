//go:build browser

package browsertest

import (
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"setwright/internal/run"
	"setwright/recording"
	"setwright/signal"
)

// The known sound: a tone, then noise in which every block can be recognised.
// Not a tone of 1 kHz, in which the loss of whole blocks of 10 ms would not
// show. The rate is that of the browser's pretended sound input.
const (
	knownRate  = 44100.0
	knownHz    = 997.0
	knownPeak  = 0.5
	toneS      = 5
	noiseS     = 3
	knownLevel = -6.0206 // dBFS of a sine of half scale
)

// knownSound returns the samples as a file of 16 bits holds them.
func knownSound() []float64 {
	r := rand.New(rand.NewPCG(997, 1))
	x := make([]float64, (toneS+noiseS)*int(knownRate))
	for i := range x {
		if i < toneS*int(knownRate) {
			x[i] = knownPeak * math.Sin(2*math.Pi*knownHz*float64(i)/knownRate)
		} else {
			x[i] = 0.2 * (2*r.Float64() - 1)
		}
	}
	return x
}

func writeSound(t *testing.T, path string, x []float64) {
	t.Helper()
	f, err := os.Create(path)
	check(t, err)
	w, err := recording.NewWriter(f, recording.Format{RateHz: knownRate, Channels: 1, Bits: 16})
	check(t, err)
	check(t, w.Write(x))
	check(t, w.Close())
	check(t, f.Close())
}

// readSound reads one channel of a recording of the book.
func (b *bench) readSound(rec run.Recording) []float64 {
	b.t.Helper()
	path, size, err := b.shop.Book.FilePath(b.t.Context(), rec.SHA256)
	check(b.t, err)
	f, err := os.Open(path)
	check(b.t, err)
	defer f.Close()
	r, err := recording.Open(rec.Name, f, size)
	check(b.t, err)
	defer r.Close()
	src, err := signal.Mono(r, 0)
	check(b.t, err)
	var out []float64
	buf := make([]float64, 4096)
	for {
		n, err := src.Read(buf)
		if err == io.EOF {
			return out
		}
		check(b.t, err)
		out = append(out, buf[:n]...)
	}
}

// A known sound goes by the browser's input through the page into the book:
// level and frequency come out as they are, and every block that the browser put
// in or lost on the way is told, which a comparison sample by sample shows.
func TestKnownSoundThroughThePage(t *testing.T) {
	known := knownSound()
	file := filepath.Join(t.TempDir(), "known.wav")
	writeSound(t, file, known)
	for _, path := range []string{"processor", "worklet"} {
		t.Run(path, func(t *testing.T) {
			b := &bench{t: t, shop: newShop(t, filepath.Join(t.TempDir(), "book"))}
			b.serve()
			b.withSound(file)
			b.takeIn("Turnstone")
			rec := b.record(path)
			if rec.Capture == nil || rec.Capture.Path != "page "+path || rec.Capture.Cut {
				t.Fatalf("capture %+v", rec.Capture)
			}
			for name, on := range map[string]*bool{"echo cancelling": rec.Capture.Echo, "noise suppression": rec.Capture.Noise, "automatic gain": rec.Capture.Gain} {
				if on == nil || *on {
					t.Errorf("%s is not known to be off", name)
				}
			}
			if len(rec.Marks) == 0 {
				t.Error("the mark is missing")
			}
			got := b.readSound(rec)
			faults := faultsBetween(t, known, got)
			t.Logf("%d frames, %d faults by comparison: %v; reported: %v", len(got), len(faults), faults, rec.Capture.Gaps)
			checkReported(t, faults, rec.Capture.Gaps)
			checkTone(t, got, rec)
		})
	}
}

// withSound opens a browser whose sound input plays a file over and over.
func (b *bench) withSound(file string) {
	b.t.Helper()
	b.browser(chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-audio-capture", file))
}

// A browser that is shut in the middle of a recording loses no more than the
// last second: the rest is in the book, marked as cut.
func TestClosedPageLosesASecondAtMost(t *testing.T) {
	file := filepath.Join(t.TempDir(), "known.wav")
	writeSound(t, file, knownSound())
	b := &bench{t: t, shop: newShop(t, filepath.Join(t.TempDir(), "book"))}
	b.serve()
	b.withSound(file)
	b.takeIn("Turnstone")
	b.visit("/listen/live?" + url.Values{"state": {b.shelfState()}, "measurement": {"sensitivity"}, "label 0 input": {"-73 dBm"}}.Encode())
	b.do(chromedp.KeyEvent(" "))
	b.until(`parseFloat(document.querySelector("[data-show=elapsed]").textContent.split(":")[1]) >= 3`)
	b.shut()
	for range 100 {
		all, err := b.shop.Recordings(t.Context())
		check(t, err)
		if len(all) == 1 {
			rec := all[0].Run.Recordings[0]
			if rec.Capture == nil || !rec.Capture.Cut {
				t.Errorf("it is not marked as cut: %+v", rec.Capture)
			}
			if s := float64(rec.Frames) / rec.RateHz; s < 2 {
				t.Errorf("only %.1f s of 3 s are left", s)
			}
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Fatal("nothing was stored")
}

// record records by the keyboard until tone and noise have come.
func (b *bench) record(path string) run.Recording {
	b.t.Helper()
	q := url.Values{"state": {b.shelfState()}, "measurement": {"sensitivity"}, "label 0 input": {"-73 dBm"}, "path": {path}}
	b.visit("/listen/live?" + q.Encode())
	space := chromedp.KeyEvent(" ")
	b.do(space)
	b.until(`document.querySelector("live-sound.running")`)
	time.Sleep(3 * time.Second)
	b.do(space) // a mark
	b.until(`document.querySelector("[data-show=marks]").textContent.endsWith("1 mark")`)
	if px := ask[float64](b, `parseFloat(getComputedStyle(document.querySelector("[data-show=tone]")).fontSize)`); px < 96 {
		b.t.Errorf("the tone stands %g px high", px)
	}
	if dir := os.Getenv("SETWRIGHT_SHOTS"); dir != "" {
		b.shoot(filepath.Join(dir, "recording-"+path+".png"))
	}
	shown := ask[string](b, `document.querySelector("[data-show=tone]").textContent`)
	b.t.Logf("tone shown as %q, level as %q", shown, ask[string](b, `document.querySelector("[data-show=level]").textContent`))
	b.until(`parseFloat(document.querySelector("[data-show=elapsed]").textContent.split(":")[1]) >= ` + fmt.Sprint(toneS+noiseS+2))
	b.do(space, chromedp.Sleep(100*time.Millisecond), space) // pressed twice: the end
	b.until(`location.pathname.startsWith("/runs/")`)
	shelf, err := b.shop.Recordings(b.t.Context())
	check(b.t, err)
	if len(shelf) != 1 {
		b.t.Fatalf("%d recordings in the book", len(shelf))
	}
	return shelf[0].Run.Recordings[0]
}

// fault is a place where what came is not what was played: so many frames more
// (put in) or fewer (lost, below zero) at a frame of the recording; 0 where
// samples are other ones and nothing moved.
type fault struct{ at, frames int }

// tolerance of a sample: the browser's 16 bits and its arithmetic.
const tolerance = 2.0 / 32768

// faultsBetween compares a recording with what was played over and over, sample
// by sample, and returns every place where the two part.
func faultsBetween(t *testing.T, known, got []float64) []fault {
	t.Helper()
	at, ok := anchor(known, got)
	if !ok {
		t.Fatal("nothing of the noise that was played is found in the recording")
	}
	var out []fault
	for i := 0; i < len(got); {
		if math.Abs(got[i]-known[(at+i)%len(known)]) <= tolerance {
			i++
			continue
		}
		next, moved, ok := goesOn(known, got, i, at)
		if !ok {
			return append(out, fault{i, 0}) // to the end
		}
		out = append(out, fault{i, -moved})
		at, i = ((at+moved)%len(known)+len(known))%len(known), next
	}
	return out
}

// window is how many samples in a row settle a place.
const window = 2048

// anchor finds in the played sound where frame 0 of the recording would lie, by
// a stretch of noise, which fits one place only.
func anchor(known, got []float64) (at int, ok bool) {
	noise := toneS * int(knownRate)
	for from := 0; from+window <= len(got); from += window {
		for p := noise; p+window <= len(known); p++ {
			if fits(known, got[from:from+window], p) {
				return ((p-from)%len(known) + len(known)) % len(known), true
			}
		}
	}
	return 0, false
}

// goesOn finds where a recording goes on as it should after a fault at frame i,
// and by how many frames it is further in the played sound than it was: the
// nearest of the places that fit, as a tone fits one a second.
func goesOn(known, got []float64, i, at int) (next, moved int, ok bool) {
	for next = i; next+window <= len(got); next += 32 {
		for d := range len(known) / 2 {
			for _, moved := range []int{d, -d} {
				if fits(known, got[next:next+window], ((at+next+moved)%len(known)+len(known))%len(known)) {
					return next, moved, true
				}
			}
		}
	}
	return 0, 0, false
}

// fits says whether samples are those played from p on. A stretch of zeros fits
// nothing.
func fits(known, part []float64, p int) bool {
	for i := range part {
		if math.Abs(part[i]-known[(p+i)%len(known)]) > tolerance {
			return false
		}
	}
	return true
}

// checkReported holds that every fault is among the gaps that were reported,
// within 20 ms.
func checkReported(t *testing.T, faults []fault, gaps []signal.Gap) {
	t.Helper()
	for _, f := range faults {
		if f.at < int(knownRate)/10 || f.frames != 0 && f.frames%int(knownRate) == 0 {
			continue // the first moment, in which the input opens; a whole second of a tone that was counted wrongly before
		}
		found := false
		for _, g := range gaps {
			if near := int64(0.02 * knownRate); int64(f.at) > g.Frame-near && int64(f.at) < g.Frame+g.Frames+near {
				found = true
			}
		}
		if !found {
			t.Errorf("at frame %d there are %+d frames, which nothing reports", f.at, f.frames)
		}
	}
}

// checkTone measures the tone over the longest stretch of it that no gap
// breaks.
func checkTone(t *testing.T, got []float64, rec run.Recording) {
	t.Helper()
	best := signal.Stretch{}
	for _, s := range signal.Stretches(int64(len(got)), rec.Capture.Gaps) {
		s = toneWithin(got, s)
		if s.To-s.From > best.To-best.From {
			best = s
		}
	}
	if best.To-best.From < int64(knownRate) {
		t.Fatalf("no second of the tone is whole: %+v", rec.Capture.Gaps)
	}
	part := got[best.From:best.To]
	fit, err := signal.FitSine4(part, rec.RateHz, knownHz)
	check(t, err)
	level, err := signal.MeasureLevel(context.Background(), signal.FromSlice(rec.RateHz, part), signal.LevelOptions{}, nil)
	check(t, err)
	db := signal.DBFS(level.RMS)
	t.Logf("%.1f s of tone: %.5f Hz ± %.5f, %.3f dBFS", float64(len(part))/rec.RateHz, fit.Hz, fit.HzU, db)
	if math.Abs(fit.Hz-knownHz) > 0.01 {
		t.Errorf("the tone is %.5f Hz, expected %g", fit.Hz, knownHz)
	}
	if math.Abs(db-knownLevel) > 0.05 {
		t.Errorf("the tone is %.4f dBFS, expected %g", db, knownLevel)
	}
}

// toneWithin narrows a stretch to where the tone sounds: its level in blocks of
// 20 ms tells it from the noise.
func toneWithin(got []float64, s signal.Stretch) signal.Stretch {
	block := int64(0.02 * knownRate)
	var best, now signal.Stretch
	for at := s.From; at+block <= s.To; at += block {
		power := 0.0
		for _, x := range got[at : at+block] {
			power += x * x / float64(block)
		}
		if power < 0.09 {
			now = signal.Stretch{}
			continue
		}
		if now.To == 0 {
			now.From = at
		}
		now.To = at + block
		if now.To-now.From > best.To-best.From {
			best = now
		}
	}
	return best
}
