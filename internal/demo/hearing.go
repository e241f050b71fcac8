package demo

import (
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"

	"setwright/internal/intake"
	"setwright/recording"
)

// hearing is the make-believe receiver as a sound input hears it: a passband,
// an envelope detector or a beat oscillator, a gain control, an audio stage and
// the hum of its supply.
type hearing struct {
	noiseFigureDB      float64
	widthHz            float64 // of the passband at −3 dB
	offHz              float64 // by which its middle lies off the nominal
	bfoHz              float64 // above the nominal middle, while noise is recorded
	attackS, recoveryS float64 // time constants of the gain control
	ratio              float64 // of the gain control: so many dB in for one out
	second, third      float64 // harmonics of the output, re the tone
	humDB              float64 // line frequency, re a tone at 30 %
	seed               uint64
}

// The invented bench: what is true of it, and nobody in the story knows.
const (
	generatorOffDB = -0.7  // what the generator gives less than it says
	rateOff        = 31e-6 // the sound input's crystal, as a fraction
	fullScaleV     = 1.43  // of the sound input, rms of a sine
	lineHz         = 50.02 // the town's line frequency that evening
	thermalDBm     = -174.0
)

// tape is what is being recorded: samples at a nominal rate.
type tape struct {
	rate float64
	x    []float64
	rng  *rand.Rand
}

// tape begins a recording; part tells the recordings of a set apart.
func (h hearing) tape(rate, seconds float64, part uint64) *tape {
	return &tape{rate: rate, x: make([]float64, int(rate*seconds)), rng: rand.New(rand.NewPCG(h.seed, part))}
}

// at is the true time of a sample.
func (t *tape) at(i int) float64 { return float64(i) / (t.rate * (1 + rateOff)) }

// hiss is complex noise of power 1 through the passband, as it stands about the
// nominal middle.
func (h hearing) hiss(t *tape) []complex128 {
	n := len(t.x)
	fft := fourier.NewCmplxFFT(n)
	c := make([]complex128, n)
	var power float64
	for k := range c {
		hz := fft.Freq(k)*t.rate - h.offHz
		gain := 1 / math.Sqrt(1+math.Pow(2*hz/h.widthHz, 8))
		power += gain * gain
		c[k] = complex(gain*t.rng.NormFloat64(), gain*t.rng.NormFloat64())
	}
	z := fft.Sequence(nil, c)
	scale := complex(1/math.Sqrt(2*power), 0)
	for i := range z {
		z[i] *= scale
	}
	return z
}

// noiseWidthHz is the noise bandwidth of the passband: that of a Butterworth
// response of the fourth order, π/8/sin(π/8) of its width.
func (h hearing) noiseWidthHz() float64 { return h.widthHz * (math.Pi / 8) / math.Sin(math.Pi/8) }

// throughBFO is the noise of the set with the BFO beside the passband.
func (h hearing) throughBFO(t *tape) *tape {
	for i, z := range h.hiss(t) {
		bfo := cmplx.Rect(1, 2*math.Pi*h.bfoHz*t.at(i))
		t.x[i] = 0.2 * real(cmplx.Conj(z)*bfo)
	}
	return h.floor(t)
}

// floor adds what comes in after the gain before the detector.
func (h hearing) floor(t *tape) *tape {
	for i := range t.x {
		t.x[i] += 4e-4 * t.rng.NormFloat64()
	}
	return h.hum(t, 0.001)
}

// throughDetector is what the envelope detector makes of a carrier that the
// generator says has a level, modulated to a depth with 400 Hz; AGC off.
func (h hearing) throughDetector(t *tape, dBm, depth float64) *tape {
	floor := thermalDBm + 10*math.Log10(h.noiseWidthHz()) + h.noiseFigureDB
	carrier := math.Pow(10, (dBm+generatorOffDB-floor)/20)
	for i, z := range h.hiss(t) {
		m := 1 + depth*math.Sin(2*math.Pi*400*t.at(i))
		t.x[i] = 0.045 * (cmplx.Abs(complex(carrier*m, 0)+z) - carrier)
	}
	return h.hum(t, 0.001)
}

// stepped is a carrier that a pad of 20 dB is switched in and out of: the gain
// control follows as a loop of the first order in decibels.
func (h hearing) stepped(t *tape, holdS float64) *tape {
	const stepDB = 20.0
	const low, tone = 0.08, 400.0
	excess := stepDB * (1 - 1/h.ratio)
	hold := int(holdS * t.rate)
	slower := 1.0 // old capacitors are not the same from one step to the next
	for i := range t.x {
		since := float64(i%hold) / t.rate
		if i%hold == 0 {
			slower = math.Exp(0.03 * t.rng.NormFloat64())
		}
		up := (i/hold)%2 == 1
		dB := 0.0
		switch {
		case up:
			dB = stepDB/h.ratio + excess*math.Exp(-since/(h.attackS*slower))
		case i >= hold:
			dB = -excess * math.Exp(-since/(h.recoveryS*slower))
		}
		gain := dB
		if up {
			gain -= stepDB
		}
		t.x[i] = low*math.Pow(10, dB/20)*math.Sin(2*math.Pi*tone*t.at(i)) + 8e-4*math.Pow(10, gain/20)*t.rng.NormFloat64()
	}
	return h.hum(t, 0.0004)
}

// tone is a strong carrier modulated to 30 % with 997 Hz, or bare.
func (h hearing) tone(t *tape, modulated bool) *tape {
	const peak = 0.3
	if modulated {
		for i := range t.x {
			phase := 2 * math.Pi * 997 * t.at(i)
			t.x[i] = peak * (math.Sin(phase) + h.second*math.Sin(2*phase+1) + h.third*math.Sin(3*phase+2))
		}
	}
	for i := range t.x {
		t.x[i] += 3e-4 * t.rng.NormFloat64()
	}
	return h.hum(t, peak*math.Pow(10, h.humDB/20))
}

// hum adds the line frequency with its second and third multiple; peak is that of
// a sine of the same power.
func (h hearing) hum(t *tape, peak float64) *tape {
	for i := range t.x {
		phase := 2 * math.Pi * lineHz * t.at(i)
		t.x[i] += peak * (0.5*math.Sin(phase) + 0.84*math.Sin(2*phase+0.4) + 0.2107*math.Sin(3*phase+1.1))
	}
	return t
}

// beat is the note of the whole set from cold, its frequency by the model of an
// oscillator.
func (h hearing) beat(t *tape, o oscillator) *tape {
	phase, walk := 0.0, 0.0
	for i := range t.x {
		s := t.at(i)
		walk += o.walkHz * math.Sqrt(1/t.rate/3600) * t.rng.NormFloat64()
		hz := o.endHz + o.valveHz*math.Exp(-s/o.valveS) + o.chassisHz*math.Exp(-s/o.chassisS) + walk
		phase = math.Mod(phase+hz/t.rate/(1+rateOff), 1)
		t.x[i] = 0.2*math.Sin(2*math.Pi*phase) + 0.01*t.rng.NormFloat64()
	}
	return h.hum(t, 0.002)
}

// wave writes the tape as a WAV file of 16 bits.
func (t *tape) wave(name string) (intake.Source, error) {
	var b inMemory
	w, err := recording.NewWriter(&b, recording.Format{RateHz: t.rate, Channels: 1, Bits: 16})
	if err != nil {
		return intake.Source{}, err
	}
	if err := w.Write(t.x); err != nil {
		return intake.Source{}, err
	}
	if err := w.Close(); err != nil {
		return intake.Source{}, err
	}
	if n := w.Clipped(); n > 0 {
		return intake.Source{}, fmt.Errorf("demo: %d samples of %s are beyond full scale", n, name)
	}
	return intake.BytesSource(name, b.data), nil
}

// inMemory is a file that is never on disk.
type inMemory struct {
	data []byte
	at   int64
}

func (m *inMemory) Write(p []byte) (int, error) {
	if missing := m.at + int64(len(p)) - int64(len(m.data)); missing > 0 {
		m.data = append(m.data, make([]byte, missing)...)
	}
	copy(m.data[m.at:], p)
	m.at += int64(len(p))
	return len(p), nil
}

func (m *inMemory) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += m.at
	case io.SeekEnd:
		offset += int64(len(m.data))
	}
	if offset < 0 || offset > int64(len(m.data)) {
		return m.at, fmt.Errorf("demo: a place outside the file: %d of %d", offset, len(m.data))
	}
	m.at = offset
	return offset, nil
}
