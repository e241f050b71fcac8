package signal

import (
	"context"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestWindowConstantsAsPublished(t *testing.T) {
	names := map[string]Window{"boxcar": Rectangular, "hann": Hann, "hamming": Hamming, "blackmanharris": BlackmanHarris, "flattop": FlatTop}
	seen := 0
	for _, row := range publishedRows(t, "window-constants.csv") {
		w, ok := names[row["window_periodic"]]
		if !ok {
			continue
		}
		seen++
		const n = 4096
		c := w.Coefficients(n)
		within(t, w.String()+" coherent gain", w.CoherentGain(n), published(t, row, "coherent_gain"), 1e-5)
		within(t, w.String()+" noise bandwidth", w.NENBW(n), published(t, row, "nenbw_bins"), 1e-4)
		within(t, w.String()+" noise bandwidth, dB", 10*math.Log10(w.NENBW(n)), published(t, row, "nenbw_db"), 1e-3)
		re, im := 0.0, 0.0
		for i, v := range c {
			s, co := math.Sincos(math.Pi * float64(i) / n)
			re, im = re+v*co, im+v*s
		}
		within(t, w.String()+" half-bin loss", 20*math.Log10(math.Hypot(re, im)/(n*w.CoherentGain(n))), published(t, row, "half_bin_loss_db"), 1e-3)
		for _, o := range []struct {
			name string
			hop  int
		}{{"overlap_corr_50", n / 2}, {"overlap_corr_75", n / 4}} {
			r := correlation(c, o.hop, 0)
			want := published(t, row, o.name)
			within(t, w.String()+" "+o.name, math.Sqrt(r), math.Abs(want), 1e-4)
		}
	}
	if seen != len(names) {
		t.Errorf("%d windows of the table tested, expected %d", seen, len(names))
	}
}

// A sine of amplitude 0.5 in the middle of bin 85: the line's power is 0.125,
// its density 0.125/(1.5·rate/n) (a worked example recomputed independently).
func TestWelchOfALine(t *testing.T) {
	const rate, n = 48000.0, 4096
	x := sine(20*n, rate, 85*rate/n, 0.5, 0.3)
	s, err := Welch(context.Background(), FromSlice(rate, x), SpectrumOptions{Segment: n}, nil)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "density at the line", s.Density[85], 7.1111e-3, 1e-7)
	within(t, "power of the line", s.Density[85]*s.ENBWHz, 0.125, 1e-9)
	p, _ := s.BandPower(84*s.DF(), 86*s.DF())
	within(t, "power of three bins", p, 0.125, 1e-9)
}

// A tone midway between two bins reads low by the window's half-bin loss.
func TestHalfBinToneReadsLow(t *testing.T) {
	const rate, n = 48000.0, 4096
	for w, loss := range map[Window]float64{Hann: -1.424, BlackmanHarris: -0.826, FlatTop: -0.010} {
		x := sine(40*n, rate, 85.5*rate/n, 0.5, 0.3)
		s, err := Welch(context.Background(), FromSlice(rate, x), SpectrumOptions{Segment: n, Window: w}, nil)
		if err != nil {
			t.Fatal(err)
		}
		within(t, w.String(), 10*math.Log10(s.Density[85]*s.ENBWHz/0.125), loss, 0.002)
	}
}

// White noise of rms 1 has the density 2/rate, and all of it adds to 1.
func TestWelchOfWhiteNoise(t *testing.T) {
	const rate = 48000.0
	s, err := Welch(context.Background(), FromSlice(rate, hiss(20*48000, 1, 1)), SpectrumOptions{Segment: 4096}, nil)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "all power", s.Total(), 1, 0.005)
	p, u := s.BandPower(1000, 2000)
	within(t, "band power", p, 1000.0/24000, 4*u)
	// 1/sqrt(BT), B = 1 kHz, T = 20 s.
	within(t, "relative uncertainty times sqrt(BT)", u/p*math.Sqrt(1000*20), 1, 0.08)
}

// Variance of averages of Hann segments over the squared mean: 1/K without
// overlap, 1.055/K at 50 %, 1.91/K at 75 % (published factors, K = 100).
func TestEffectiveAverages(t *testing.T) {
	w := Hann.Coefficients(4096)
	within(t, "none", 100/effective(w, 4096, 100), 1, 1e-9)
	within(t, "50 %", 100/effective(w, 2048, 100), 1.055, 0.001)
	within(t, "75 %", 100/effective(w, 1024, 100), 1.91, 0.005)
}

// The scatter of bins of white noise is what Effective says.
func TestEffectiveIsWhatBinsScatter(t *testing.T) {
	for _, overlap := range []float64{-1, 0.5, 0.75} {
		s, err := Welch(context.Background(), FromSlice(48000, hiss(1<<19, 1, 9)), SpectrumOptions{Segment: 4096, Overlap: overlap}, nil)
		if err != nil {
			t.Fatal(err)
		}
		mean, squares, n := 0.0, 0.0, 0.0
		for _, d := range s.Density[10:2000] {
			mean += d
			squares += d * d
			n++
		}
		mean /= n
		sd := math.Sqrt(squares/n-mean*mean) / mean
		within(t, "relative scatter times sqrt(Effective)", sd*math.Sqrt(s.Effective), 1, 0.08)
	}
}

// Parseval: with a rectangular window and no overlap the spectrum adds to the
// mean square; twice the amplitude is four times the density.
func TestWelchKeepsPowerAndScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{16, 30, 64, 100, 243, 256}).Draw(t, "n")
		k := rapid.IntRange(1, 9).Draw(t, "segments")
		gain := rapid.Float64Range(0.001, 1000).Draw(t, "gain")
		x := hiss(n*k, 1, rapid.Uint64().Draw(t, "seed"))
		o := SpectrumOptions{Segment: n, Overlap: -1, Window: Rectangular, KeepMean: true}
		a, err := Welch(context.Background(), FromSlice(8000, x), o, nil)
		if err != nil {
			t.Fatal(err)
		}
		if want := sumSquares(x) / float64(len(x)); math.Abs(a.Total()-want) > 1e-12*want {
			t.Fatalf("the bins add to %v, mean square %v", a.Total(), want)
		}
		y := make([]float64, len(x))
		for i := range x {
			y[i] = gain * x[i]
		}
		b, err := Welch(context.Background(), FromSlice(8000, y), o, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i := range a.Density {
			if math.Abs(b.Density[i]-gain*gain*a.Density[i]) > 1e-9*gain*gain*a.Total() {
				t.Fatalf("bin %d: %v times %v² is not %v", i, a.Density[i], gain, b.Density[i])
			}
		}
	})
}

// A burst put in by a fault does not reach the spectrum if it lies in a gap.
func TestWelchKeepsOutOfGaps(t *testing.T) {
	const rate = 8000.0
	x := hiss(80000, 0.01, 3)
	for i := 30000; i < 30500; i++ {
		x[i] = 1
	}
	gaps := []Gap{{Frame: 30000, Frames: 500, Why: "repeated block"}, {Frame: 60001, LostS: 0.1, Why: "late by the clock"}}
	s, err := Welch(context.Background(), FromSlice(rate, x), SpectrumOptions{Segment: 1024, Gaps: gaps, Frames: 80000}, nil)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "all power", s.Total(), 1e-4, 2e-6)
	if len(s.Left) == 0 || !strings.HasPrefix(s.Left[0], "gaps: 0.0625 s") {
		t.Errorf("left out: %q", s.Left)
	}
	segments := 0
	for _, st := range Stretches(80000, gaps) {
		segments += int(st.To-st.From-1024)/512 + 1
	}
	if s.Segments != segments {
		t.Errorf("%d segments, expected %d", s.Segments, segments)
	}
}

// drips gives its samples in odd portions.
type drips struct {
	Source
	n int
}

func (d *drips) Read(dst []float64) (int, error) {
	d.n = d.n%977 + 13
	return d.Source.Read(dst[:min(d.n, len(dst))])
}

// How a source portions its samples must not matter, to the last bit.
func TestWelchIsTheSameHoweverItIsRead(t *testing.T) {
	x := hiss(300000, 1, 4)
	o := SpectrumOptions{Segment: 4096, Gaps: []Gap{{Frame: 100000, Frames: 7}}}
	a, errA := Welch(context.Background(), FromSlice(48000, x), o, nil)
	b, errB := Welch(context.Background(), &drips{Source: FromSlice(48000, x)}, o, nil)
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	for k := range a.Density {
		if a.Density[k] != b.Density[k] {
			t.Fatalf("bin %d differs: %v and %v", k, a.Density[k], b.Density[k])
		}
	}
}

func TestWelchShortRecordIsOneSegment(t *testing.T) {
	s, err := Welch(context.Background(), FromSlice(8000, hiss(1001, 1, 5)), SpectrumOptions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if s.Segment != 1000 || s.Segments != 1 {
		t.Errorf("%d segments of %d, expected one of 1000", s.Segments, s.Segment)
	}
}

func TestWelchRefuses(t *testing.T) {
	bad := hiss(1000, 1, 1)
	bad[517] = math.NaN()
	for want, try := range map[string]func() error{
		"frame 517 is NaN": func() error {
			_, err := Welch(context.Background(), FromSlice(8000, bad), SpectrumOptions{Segment: 64}, nil)
			return err
		},
		"has 0 frames": func() error {
			_, err := Welch(context.Background(), FromSlice(8000, nil), SpectrumOptions{}, nil)
			return err
		},
		"expected 4096 at least": func() error {
			_, err := Welch(context.Background(), FromSlice(8000, bad[:100]), SpectrumOptions{Segment: 4096}, nil)
			return err
		},
		"expected 16 at least": func() error {
			_, err := Welch(context.Background(), FromSlice(8000, bad), SpectrumOptions{Segment: 3}, nil)
			return err
		},
		"sample rate": func() error {
			_, err := Welch(context.Background(), FromSlice(0, bad), SpectrumOptions{}, nil)
			return err
		},
		"context canceled": func() error {
			ctx, cancel := context.WithCancel(context.Background())
			cancel()
			_, err := Welch(ctx, FromSlice(8000, bad), SpectrumOptions{}, nil)
			return err
		},
		"2 channels": func() error {
			_, err := Welch(context.Background(), &pairs{FromSlice(8000, bad)}, SpectrumOptions{}, nil)
			return err
		},
	} {
		if err := try(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, expected something about %q", err, want)
		}
	}
}

// pairs has two channels with the samples of one source in turn.
type pairs struct{ Source }

func (p *pairs) Channels() int { return 2 }
func (p *pairs) Read(dst []float64) (int, error) {
	n, err := p.Source.Read(dst[:len(dst)/2*2])
	if n%2 == 1 {
		n--
		if n == 0 {
			return 0, io.EOF
		}
	}
	return n / 2, err
}

func TestSmoothLength(t *testing.T) {
	for n, want := range map[int]int{1: 1, 7: 6, 65536: 65536, 65537: 65536, 10007: 10000, 48000: 48000, 44100: 43740} {
		if got := smoothLength(n); got != want {
			t.Errorf("smoothLength(%d) = %d, expected %d", n, got, want)
		}
	}
}
