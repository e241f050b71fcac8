package selectivity

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
	"setwright/signal"
)

type closing struct{ signal.Source }

func (closing) Close() error { return nil }

// recorded is a recording of samples.
func recorded(name, part string, rate float64, x []float64) measure.Recording {
	return measure.Recording{
		Recording: run.Recording{Role: "noise", Name: name, RateHz: rate, Channels: 1, Frames: int64(len(x)), Labels: map[string]string{"part": part}},
		Open: func(context.Context) (measure.SourceCloser, error) {
			return closing{signal.FromSlice(rate, x)}, nil
		},
	}
}

// noiseThrough is white noise through a response in dB at each audio frequency,
// with white noise so many dB below the maximum added; made in the frequency
// domain.
func noiseThrough(f func(hz float64) float64, rate float64, n int, floorDB float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 4))
	c := make([]complex128, n/2+1)
	for k := range c {
		a := math.Pow(10, f(float64(k)*rate/float64(n))/20)
		b := math.Pow(10, floorDB/20)
		c[k] = complex(a*rng.NormFloat64(), a*rng.NormFloat64()) + complex(b*rng.NormFloat64(), b*rng.NormFloat64())
	}
	c[0] = 0
	x := fourier.NewFFT(n).Sequence(nil, c)
	peak := 0.0
	for _, v := range x {
		peak = math.Max(peak, math.Abs(v))
	}
	for i := range x {
		x[i] *= 0.5 / peak
	}
	return x
}

// strip is two critical pairs of Q 240 (B6 2.68 kHz) heard with the BFO 3 kHz
// above the middle.
func strip(bfo float64) func(hz float64) float64 {
	f := pairs(2, 1)
	return func(hz float64) float64 { return f((bfo - hz) * 2 * 240 / 455e3) }
}

func noiseRaw(options map[string]string, recs ...measure.Recording) measure.Raw {
	return measure.Raw{RunID: "run-2", Options: options, Recordings: recs}
}

// Noise through a strip: width, noise bandwidth and place of the passband come
// out, and 60 dB down is a bound since the floor lies 50 dB down.
func TestNoiseThroughTheSet(t *testing.T) {
	const rate, n = 16000.0, 16000 * 60
	x := noiseThrough(strip(3000), rate, n, -50, 1)
	a := analyse(t, noiseRaw(map[string]string{"detection": "bfo", "bfo_offset": "3 kHz"}, recorded("hiss.wav", "", rate, x)))
	b6 := width(pairs(2, 1), 6) * 455e3 / 480
	within(t, find(t, a, "bandwidth_6", ""), b6, 40)
	within(t, find(t, a, "noise_bandwidth", ""), 1.0384*width(pairs(2, 1), 10*math.Log10(2))*455e3/480, 60)
	within(t, find(t, a, "centre_offset", ""), 0, 40)
	within(t, find(t, a, "skew", "6"), 0, 0.05)
	if f := find(t, a, "bandwidth_60", ""); f.Kind != quantity.KindBound {
		t.Errorf("bandwidth at −60 dB %s", quantity.FormatOutcome(f.Outcome, "Hz"))
	}
	if r := find(t, a, "ripple", ""); r.Value.Estimate() != 0 {
		t.Errorf("ripple %s of one hump", quantity.FormatOutcome(r.Outcome, "dB"))
	}
	if len(a.Stretches) != 1 || a.Stretches[0].ToS != 60 {
		t.Errorf("stretches %+v", a.Stretches)
	}
	t.Log(strings.Join(a.Sentences, " "))
	t.Log(a.Notes)
}

// A floor that was recorded is taken off, so that the skirts can be followed
// further; hum is left out.
func TestARecordedFloorIsTakenOff(t *testing.T) {
	const rate, n = 16000.0, 16000 * 60
	x, floor := noiseThrough(strip(3000), rate, n, -25, 2), noiseThrough(func(float64) float64 { return -25 }, rate, n, -200, 3)
	// the floor with the gain of the noise
	gain := math.Sqrt(meanSquare(x, 6500, rate) / meanSquare(floor, 6500, rate))
	for i := range floor {
		floor[i] *= gain
		x[i] += 0.02 * math.Sin(2*math.Pi*100*float64(i)/rate)
	}
	raw := noiseRaw(map[string]string{"detection": "bfo", "bfo_offset": "3 kHz"}, recorded("hiss.wav", partPassband, rate, x), recorded("down.wav", partFloor, rate, floor))
	a := analyse(t, raw)
	within(t, find(t, a, "bandwidth_6", ""), width(pairs(2, 1), 6)*455e3/480, 40)
	d := find(t, a, "bandwidth_60", "")
	if d.Kind != quantity.KindBound || d.Value.Estimate() < width(pairs(2, 1), 20)*455e3/480 {
		t.Errorf("followed over %s only", quantity.FormatOutcome(d.Outcome, "Hz"))
	}
}

// meanSquare is the density about a frequency.
func meanSquare(x []float64, hz, rate float64) float64 {
	s, _ := signal.Welch(context.Background(), signal.FromSlice(rate, x), signal.SpectrumOptions{Segment: 4096}, nil)
	p, _ := s.BandPower(hz-500, hz+500)
	return p
}

func TestNoiseThatDoesNotShowThePassbandIsRefused(t *testing.T) {
	const rate = 8000.0
	x := noiseThrough(strip(2000), rate, 8000*10, -50, 5)
	loud := append([]float64(nil), x...)
	for i := range loud {
		loud[i] = math.Max(-1, math.Min(1, 8*loud[i]))
	}
	on := true
	suppressed := recorded("a.wav", "", rate, x)
	suppressed.Capture = &run.Capture{Noise: &on}
	silent := make([]float64, 80000)
	bfo := map[string]string{"detection": "bfo"}
	for _, c := range []struct {
		name string
		raw  measure.Raw
		want string
	}{
		{"am", noiseRaw(map[string]string{"detection": "am"}, recorded("a.wav", "", rate, x)), "does not have the shape of the passband"},
		{"unsaid", noiseRaw(nil, recorded("a.wav", "", rate, x)), "how it was detected"},
		{"short", noiseRaw(bfo, recorded("a.wav", "", rate, x[:8000])), "1.0 s of noise"},
		{"two", noiseRaw(bfo, recorded("a.wav", "", rate, x), recorded("b.wav", "", rate, x)), "two recordings of the same part"},
		{"floor alone", noiseRaw(bfo, recorded("a.wav", partFloor, rate, x)), "floor alone"},
		{"silent", noiseRaw(bfo, recorded("a.wav", "", rate, silent)), "silent"},
		{"clipped", noiseRaw(bfo, recorded("a.wav", "", rate, loud)), "clipped"},
		{"suppressed", noiseRaw(bfo, suppressed), "noise suppression"},
		{"side", noiseRaw(map[string]string{"detection": "bfo", "bfo_offset": "-2 kHz", "bfo_side": "above"}, recorded("a.wav", "", rate, x)), "bfo_side"},
	} {
		_, err := Measurement{}.Analyse(context.Background(), c.raw, nil)
		var r *measure.Refusal
		if !errors.As(err, &r) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want a refusal that says %q", c.name, err, c.want)
		}
	}
}

// Without the side of the BFO widths stand, but what has a direction does not.
func TestSideOfTheBFO(t *testing.T) {
	const rate = 16000.0
	x := noiseThrough(strip(3300), rate, 16000*40, -50, 6)
	unsaid := analyse(t, noiseRaw(map[string]string{"detection": "bfo"}, recorded("a.wav", "", rate, x)))
	if notes := strings.Join(unsaid.Notes, "; "); !strings.Contains(notes, "skew is not given") || !strings.Contains(notes, "centre offset is not given") {
		t.Errorf("notes %s", notes)
	}
	// BFO said 3 kHz above, truly 3.3 kHz: the middle seems 300 Hz low
	said := analyse(t, noiseRaw(map[string]string{"detection": "bfo", "bfo_offset": "3 kHz"}, recorded("a.wav", "", rate, x)))
	within(t, find(t, said, "centre_offset", ""), -300, 40)
	below := analyse(t, noiseRaw(map[string]string{"detection": "bfo", "bfo_offset": "-3 kHz"}, recorded("a.wav", "", rate, x)))
	within(t, find(t, below, "centre_offset", ""), 300, 40)
}

// The package signal's own noise bandwidth of the same spectrum agrees.
func TestNoiseBandwidthAgreesWithTheSpectrums(t *testing.T) {
	const rate = 16000.0
	x := noiseThrough(strip(3000), rate, 16000*40, -50, 7)
	a := find(t, analyse(t, noiseRaw(map[string]string{"detection": "bfo"}, recorded("a.wav", "", rate, x))), "noise_bandwidth", "")
	s, err := signal.Welch(context.Background(), signal.FromSlice(rate, x), signal.SpectrumOptions{Segment: 8192, KeepMean: true}, nil)
	if err != nil {
		t.Fatal(err)
	}
	b, err := signal.NoiseBandwidth(s, signal.BandwidthOptions{FromHz: 60, ToHz: 7200})
	if err != nil {
		t.Fatal(err)
	}
	if d := math.Abs(a.Value.Estimate() - b.NoiseBandwidthHz); d > 2.5*math.Hypot(a.Value.U(), b.NoiseBandwidthU) {
		t.Errorf("%s, by the spectrum alone %.0f ± %.0f Hz", quantity.FormatOutcome(a.Outcome, "Hz"), b.NoiseBandwidthHz, b.NoiseBandwidthU)
	}
}

// A filter with a flat top and steep sides: the noise on its top is no ripple,
// and its width is that of the sides.
func TestSteepFilterHasNoRippleOfNoise(t *testing.T) {
	const rate = 12000.0
	steep := func(hz float64) float64 { return -10 * math.Log10(1+math.Pow((hz-2500)/1200, 40)) }
	x := noiseThrough(steep, rate, 12000*40, -50, 11)
	a := analyse(t, noiseRaw(map[string]string{"detection": "bfo", "bfo_offset": "2.5 kHz"}, recorded("a.wav", "", rate, x)))
	if r := find(t, a, "ripple", ""); r.Value.Estimate() != 0 || r.CI[1] > 0.8 {
		t.Errorf("ripple %s", quantity.FormatOutcome(r.Outcome, "dB"))
	}
	within(t, find(t, a, "bandwidth_6", ""), 2*1200*math.Pow(math.Pow(10, 0.6)-1, 1./40), 15)
	within(t, find(t, a, "noise_bandwidth", ""), 2400*(math.Pi/40)/math.Sin(math.Pi/40), 120)
}
