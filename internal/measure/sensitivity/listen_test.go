package sensitivity

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/noise"
	"setwright/signal"
)

const rate = 16000.0

type closing struct{ signal.Source }

func (closing) Close() error { return nil }

// recorded is a recording of samples with what is written on it.
func recorded(name, input, what string, x []float64) measure.Recording {
	return measure.Recording{
		Recording: run.Recording{Role: "output", Name: name, RateHz: rate, Channels: 1, Frames: int64(len(x)), Labels: map[string]string{"input": input, "signal": what}},
		Open:      func(context.Context) (measure.SourceCloser, error) { return closing{signal.FromSlice(rate, x)}, nil },
	}
}

// hiss is Gaussian noise of a total power within a band.
func hiss(seconds, fromHz, toHz, power float64, seed uint64) []float64 {
	n := int(seconds * rate)
	rng := rand.New(rand.NewPCG(seed, 11))
	c := make([]complex128, n/2+1)
	for k := range c {
		if hz := float64(k) * rate / float64(n); hz >= fromHz && hz <= toHz {
			c[k] = complex(rng.NormFloat64(), rng.NormFloat64())
		}
	}
	x := fourier.NewFFT(n).Sequence(nil, c)
	// expected, not exact, power: by the number of bins
	bins := (toHz - fromHz) / rate * float64(n)
	a := math.Sqrt(power / (4 * bins))
	for i := range x {
		x[i] *= a
	}
	return x
}

// withTone adds a tone of a power.
func withTone(x []float64, hz, power float64) []float64 {
	out := make([]float64, len(x))
	a := math.Sqrt(2 * power)
	for i := range x {
		out[i] = x[i] + a*math.Sin(2*math.Pi*hz*float64(i)/rate)
	}
	return out
}

// TestCWFromRecordings: a tone of 997 Hz in noise of 2.4 kHz at five levels and
// the noise alone. The levels are those of a set of 12 dB noise figure by package
// noise, the bandwidth comes from the noise itself, and so does the noise figure.
func TestCWFromRecordings(t *testing.T) {
	const floorW, width = 1e-4, 2400.0
	s := set{figureDB: 12, bandwidthHz: width, mode: modeCW}
	raw := rawOf(map[string]string{"mode": "cw", "bfo": "on", "agc": "off", "dial": "7 MHz", "level_u": "0.1 dB", "step_u": "0.05 dB"})
	for i, dbm := range []float64{-134, -128, -122, -118, -112} {
		over := noise.Ratio(s.over(dbm)) - 1
		x := withTone(hiss(20, 300, 300+width, floorW, uint64(i)), 997, floorW*over)
		raw.Recordings = append(raw.Recordings, recorded(fmt.Sprintf("on%d.wav", i), fmt.Sprintf("%g dBm", dbm), "on", x))
	}
	raw.Recordings = append(raw.Recordings, recorded("off.wav", "", "off", hiss(60, 300, 300+width, floorW, 99)))
	a := analyse(t, raw)
	cw := want(t, a, "sensitivity_cw")
	dbm, _ := detail(cw, "available_power")
	near(t, "10 dB", dbm, noise.CWSensitivity(12, width, 10), 0.35)
	w := want(t, a, "noise_bandwidth")
	near(t, "bandwidth", w.Value.Estimate(), width, math.Max(3*w.Value.U(), 60))
	nf := want(t, a, "noise_figure")
	near(t, "noise figure", nf.Value.Estimate(), 12, 0.5)
	if len(a.Stretches) != 6 {
		t.Errorf("%d stretches: %+v", len(a.Stretches), a.Stretches)
	}
	if cw.Value.U()/cw.Value.Estimate() > 0.05 {
		t.Errorf("twenty seconds each give %v", cw.Value)
	}
}

// TestAMFromRecordings: modulated and unmodulated at each level.
func TestAMFromRecordings(t *testing.T) {
	s := set{figureDB: 15, bandwidthHz: 6000, mode: modeAM, depth: 0.3}
	raw := rawOf(map[string]string{"agc": "off", "level_u": "0.1 dB", "step_u": "0.05 dB", "modulation_u": "0.1 %"})
	for i, dbm := range []float64{-108, -104, -101, -98} {
		over := noise.Ratio(s.over(dbm)) - 1
		label := fmt.Sprintf("%g", dbm) // a bare number is dBm
		raw.Recordings = append(raw.Recordings,
			recorded(fmt.Sprintf("m%d.wav", i), label, "modulated", withTone(hiss(20, 50, 3000, 1e-3, uint64(10+i)), 997, 1e-3*over)),
			recorded(fmt.Sprintf("u%d.wav", i), label, "unmodulated", hiss(20, 50, 3000, 1e-3, uint64(30+i))))
	}
	a := analyse(t, raw)
	f := want(t, a, "sensitivity_am")
	dbm, _ := detail(f, "available_power")
	near(t, "10 dB", dbm, noise.AMSensitivity(15, 6000, 0.3, 10), 0.4)
	if f.Conditions["mode"] != "am" {
		t.Errorf("mode %s", f.Conditions["mode"])
	}
}

// TestSINADFromRecordings: one recording at each level is enough.
func TestSINADFromRecordings(t *testing.T) {
	raw := rawOf(map[string]string{"mode": "sinad", "bfo": "on", "level_u": "0.1 dB", "step_u": "0.05 dB"})
	for i, sn := range []float64{6, 9, 12, 15} { // S/N in dB; S/N 11.717 dB is 12 dB SINAD
		raw.Recordings = append(raw.Recordings, recorded(fmt.Sprintf("s%d.wav", i), fmt.Sprintf("%g dBm", -120+sn), "on",
			withTone(hiss(20, 300, 3000, 1e-3, uint64(i)), 997, 1e-3*noise.Ratio(sn))))
	}
	a := analyse(t, raw)
	f := want(t, a, "sensitivity_sinad")
	dbm, _ := detail(f, "available_power")
	near(t, "12 dB SINAD", dbm, -120+11.717, 0.3)
}

// TestAntennaFromRecordings: noise on the antenna 12 dB above that on the dummy.
func TestAntennaFromRecordings(t *testing.T) {
	raw := rawOf(map[string]string{"agc": "off", "mode": "cw"})
	raw.Recordings = []measure.Recording{
		recorded("a.wav", "", "antenna", hiss(30, 300, 2700, 1e-3, 1)),
		recorded("d.wav", "", "dummy", hiss(30, 300, 2700, 1e-3/noise.Ratio(12), 2)),
	}
	f := want(t, analyse(t, raw), "antenna_noise_rise")
	near(t, "rise", f.Value.Estimate(), 12, 0.2)
	if u := f.Value.U(); u < unrepeatedU || u > 0.55 {
		t.Errorf("one pair gives %v: how it repeats is not shown", f.Value)
	}
}

// TestRecordingsLeftOut: what is clipped, silent, too short or without a partner
// is left out by name; a level that cannot be read is refused with the name.
func TestRecordingsLeftOut(t *testing.T) {
	loud := withTone(hiss(10, 300, 2700, 1e-3, 1), 997, 2)
	for i := range loud {
		loud[i] = math.Max(-1, math.Min(1, loud[i]))
	}
	raw := rawOf(map[string]string{"mode": "cw"})
	raw.Recordings = []measure.Recording{
		recorded("loud.wav", "-110 dBm", "on", loud),
		recorded("short.wav", "-110 dBm", "on", hiss(1, 300, 2700, 1e-3, 3)),
		recorded("silent.wav", "-110 dBm", "on", make([]float64, 160000)),
		recorded("unnamed.wav", "", "on", hiss(10, 300, 2700, 1e-3, 4)),
		recorded("good.wav", "-110 dBm", "on", withTone(hiss(10, 300, 2700, 1e-3, 5), 997, 9e-3)),
		recorded("off.wav", "", "off", hiss(10, 300, 2700, 1e-3, 6)),
	}
	a := analyse(t, raw)
	want(t, a, "sensitivity_cw")
	for _, text := range []string{"loud.wav is left out", "clipped", "short.wav is left out", "silent.wav is left out", "unnamed.wav is left out"} {
		if !mentions(a.Notes, text) {
			t.Errorf("no %q in %q", text, a.Notes)
		}
	}
	raw.Recordings[4].Labels["input"] = "2 µV"
	_, err := Measurement{}.Analyse(context.Background(), raw, nil)
	var refusal *measure.Refusal
	if !errors.As(err, &refusal) || !strings.Contains(err.Error(), "good.wav") || !strings.Contains(err.Error(), "emf") {
		t.Errorf("a level that does not say which: %v", err)
	}
}

// TestCancelled: whoever stops the work gets no figures.
func TestCancelled(t *testing.T) {
	raw := rawOf(map[string]string{"mode": "cw"})
	raw.Recordings = []measure.Recording{recorded("on.wav", "-110", "on", hiss(10, 300, 2700, 1e-3, 1))}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := (Measurement{}).Analyse(ctx, raw, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
