package signal

import (
	"errors"
	"fmt"
	"io"
	"math"
	"testing"
)

// collect reads a source of one channel to its end in blocks of a size.
func collectResampled(t testing.TB, src Source, block int) []float64 {
	t.Helper()
	var out []float64
	buf := make([]float64, block)
	for {
		n, err := src.Read(buf)
		out = append(out, buf[:n]...)
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

func resampleSine(rate, hz, seconds float64) []float64 {
	out := make([]float64, int(rate*seconds))
	for i := range out {
		out[i] = math.Sin(2 * math.Pi * math.Mod(hz*float64(i)/rate, 1))
	}
	return out
}

// resampleRatios are those of common sample rates, of a rate that a counter
// found to be off by some parts in a million, and of nothing in particular.
var resampleRatios = []struct{ from, to float64 }{
	{44100, 48000}, {48000, 44100}, {48000, 8000}, {8000, 48000}, {192000, 44100}, {48000, 48001.618}, {44100.07, 44099.2}, {48000, 11025.7}, {12000, 31415.926},
}

// TestResamplePassBand: a tone below 0.45 of the lower rate comes out as the
// same tone at the new moments. The rms of what is different is the ripple,
// images and aliases together; each stated bound holds for it.
func TestResamplePassBand(t *testing.T) {
	for _, c := range resampleRatios {
		lower := min(c.from, c.to)
		edge := int(math.Ceil(resampleHalf / lower * c.to))
		for _, part := range []float64{0.01, 0.2501, 0.4, 0.449} {
			hz := part * lower
			src, err := Resample(FromSlice(c.from, resampleSine(c.from, hz, 500/lower)), c.to)
			if err != nil {
				t.Fatal(err)
			}
			out := collectResampled(t, src, 1000)
			want := resampleSine(c.to, hz, 500/lower+1)
			var difference float64
			inner := out[edge : len(out)-edge]
			for i, x := range inner {
				difference += (x - want[edge+i]) * (x - want[edge+i])
			}
			// 0.0001 dB is 1.15e-5; the tone's rms is 1/√2.
			if rms := math.Sqrt(2 * difference / float64(len(inner))); rms > 2e-6 {
				t.Errorf("%v to %v Hz, tone at %.3f of the lower rate: %.1f dB of it are different", c.from, c.to, part, 20*math.Log10(rms))
			}
		}
	}
}

// TestResampleStopBand: what the lower rate cannot hold does not come through
// as something else.
func TestResampleStopBand(t *testing.T) {
	for _, c := range resampleRatios {
		if c.to >= c.from {
			continue
		}
		edge := int(math.Ceil(resampleHalf))
		for _, part := range []float64{0.5005, 0.52, 0.6, 0.77, 1.03, 1.4} {
			hz := part * c.to
			if hz > 0.5*c.from {
				continue
			}
			src, err := Resample(FromSlice(c.from, resampleSine(c.from, hz, 500/c.to)), c.to)
			if err != nil {
				t.Fatal(err)
			}
			out := collectResampled(t, src, 777)
			var power float64
			inner := out[edge : len(out)-edge]
			for _, x := range inner {
				power += x * x
			}
			if db := 10 * math.Log10(2*power/float64(len(inner))); db > -resampleStopDB+1 {
				t.Errorf("%v to %v Hz, tone at %v of the new rate: %.1f dB come through", c.from, c.to, part, db)
			}
		}
	}
}

// TestResampleResponse: the filter itself, its magnitude on a fine grid.
func TestResampleResponse(t *testing.T) {
	const rows = 64
	half := int(math.Ceil(resampleHalf))
	impulse := resampleResponse(half, rows, 1)
	response := func(f float64) float64 { // f in units of the lower rate
		var re, im float64
		for p := range rows {
			for i, h := range resampleRow(impulse, p, rows, half) {
				sin, cos := math.Sincos(2 * math.Pi * f * (float64(p)/rows - float64(i)))
				re, im = re+h*cos/rows, im+h*sin/rows
			}
		}
		return 20 * math.Log10(math.Hypot(re, im))
	}
	for f := 0.0; f <= resamplePass; f += 0.009 {
		if db := response(f); math.Abs(db) > 0.0001 {
			t.Errorf("ripple of %.6f dB at %.3f", db, f)
		}
	}
	for f := resampleStop; f < 3; f += 0.0137 {
		if db := response(f); db > -resampleStopDB {
			t.Errorf("only %.2f dB down at %.4f", -db, f)
		}
	}
}

// TestResampleLength: the last frame is not later than the source's last.
func TestResampleLength(t *testing.T) {
	for _, c := range []struct {
		from, to float64
		in, out  int
	}{
		{48000, 8000, 1, 1}, {48000, 8000, 6, 1}, {48000, 8000, 7, 2}, {8000, 48000, 2, 7}, {44100, 48000, 442, 481}, {44100, 48000, 441, 479},
		{48000, 48001.618, 48001, 48002}, {48000, 8000, 0, 0},
	} {
		src, err := Resample(FromSlice(c.from, make([]float64, c.in)), c.to)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(collectResampled(t, src, 50)); n != c.out {
			t.Errorf("%d frames at %v Hz became %d at %v Hz, want %d", c.in, c.from, n, c.to, c.out)
		}
	}
}

// TestResampleByBlocks: the size of the blocks makes no difference, and
// channels do not mix.
func TestResampleByBlocks(t *testing.T) {
	left, right := resampleSine(44100, 1234, 0.3), resampleSine(44100, 77, 0.3)
	both := make([]float64, 0, 2*len(left))
	for i := range left {
		both = append(both, left[i], right[i])
	}
	mono := func(x []float64) []float64 {
		src, err := Resample(FromSlice(44100, x), 32000)
		if err != nil {
			t.Fatal(err)
		}
		return collectResampled(t, src, 123)
	}
	wantLeft, wantRight := mono(left), mono(right)
	for _, block := range []int{2, 3, 64, 10000} {
		src, err := Resample(&stereo{FromSlice(44100, both)}, 32000)
		if err != nil {
			t.Fatal(err)
		}
		buf := make([]float64, block)
		var got []float64
		for {
			n, err := src.Read(buf)
			if err != nil {
				break
			}
			got = append(got, buf[:2*n]...)
		}
		if len(got) != 2*len(wantLeft) {
			t.Fatalf("blocks of %d: %d samples, want %d", block, len(got), 2*len(wantLeft))
		}
		for i := range wantLeft {
			if got[2*i] != wantLeft[i] || got[2*i+1] != wantRight[i] {
				t.Fatalf("blocks of %d: frame %d differs", block, i)
			}
		}
	}
}

// stereo reads the samples of a slice as two channels.
type stereo struct{ Source }

func (s *stereo) Channels() int { return 2 }

func (s *stereo) Read(dst []float64) (int, error) {
	n, err := s.Source.Read(dst[:len(dst)/2*2])
	return n / 2, err
}

// failing is a source that breaks.
type failing struct{ Source }

func (f failing) Read([]float64) (int, error) { return 0, errBroken }

var errBroken = errors.New("the cable came off")

func TestResampleRefuses(t *testing.T) {
	src := FromSlice(48000, make([]float64, 10))
	for _, to := range []float64{0, -1, math.NaN(), math.Inf(1), 1, 1e9} {
		if _, err := Resample(src, to); err == nil {
			t.Errorf("resampling to %v Hz was not refused", to)
		}
	}
	if same, err := Resample(src, 48000); err != nil || same != src {
		t.Errorf("resampling to the same rate does something: %v", err)
	}
	r, err := Resample(failing{src}, 44100)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Read(make([]float64, 4)); !errors.Is(err, errBroken) {
		t.Errorf("the fault of the source became %v", err)
	}
}

func BenchmarkResample(b *testing.B) {
	for _, c := range []struct{ from, to float64 }{{44100, 48000}, {48000, 8000}, {48000, 48001.618}} {
		x := resampleSine(c.from, 1000, 2)
		b.Run(fmt.Sprintf("%vto%v", c.from, c.to), func(b *testing.B) {
			b.SetBytes(int64(8 * len(x)))
			for range b.N {
				src, err := Resample(FromSlice(c.from, x), c.to)
				if err != nil {
					b.Fatal(err)
				}
				collectResampled(b, src, 4096)
			}
		})
	}
}
