package signal

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// A short run checks a few records of each kind; SETWRIGHT_COVERAGE=full checks
// 300, and then the share that a stated 95 % interval holds must lie between 90
// and 99 %.
func coverageRecords() (records int, full bool) {
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		return 300, true
	}
	return 12, false
}

// covered counts how often an interval of ±1.96 u holds the truth.
type covered struct {
	name    string
	in, all int
	squares float64
}

func (c *covered) add(got, u, truth float64) {
	c.all++
	if math.Abs(got-truth) <= 1.96*u {
		c.in++
	}
	c.squares += (got - truth) * (got - truth) / (u * u)
}

func (c *covered) check(t *testing.T, full bool) {
	t.Helper()
	share := float64(c.in) / float64(c.all)
	t.Logf("%s: %d of %d (%.1f %%), error %.2f u rms", c.name, c.in, c.all, 100*share, math.Sqrt(c.squares/float64(c.all)))
	low, high := 0.90, 0.99
	if !full { // what 12 records of 95 % give but once in fifty thousand
		low, high = 0.6, 1
	}
	if share < low || share > high {
		t.Errorf("%s: the 95 %% interval holds the truth in %.1f %% of %d records", c.name, 100*share, c.all)
	}
}

// toneCase is a simulated recording through a receiver: tone, harmonics, hum.
type toneCase struct {
	name          string
	seconds       float64
	sinad         float64 // dB of tone over noise in 300 to 3400 Hz
	second, third float64 // over the fundamental
	hum           float64
	drift         float64 // Hz/s
}

func (c toneCase) record(rng *rand.Rand) (x []float64, hz, sigma float64) {
	const rate, a = 16000.0, 0.3
	hz = 400 + 700*rng.Float64()
	density := a * a / 2 / math.Pow(10, c.sinad/10) / 3100
	sigma = math.Sqrt(density * rate / 2)
	p := [4]float64{}
	for i := range p {
		p[i] = 2 * math.Pi * rng.Float64()
	}
	x = make([]float64, int(rate*c.seconds))
	for i := range x {
		t := float64(i) / rate
		ph := 2*math.Pi*(hz*t+c.drift*t*t/2) + p[0]
		x[i] = a*(math.Sin(ph)+c.second*math.Sin(2*ph+p[1])+c.third*math.Sin(3*ph+p[2])) +
			c.hum*math.Sin(2*math.Pi*100.06*t+p[3]) + sigma*rng.NormFloat64()
	}
	return x, hz, sigma
}

func TestToneCoverage(t *testing.T) {
	records, full := coverageRecords()
	for _, c := range []toneCase{
		{name: "12 dB, 3 s", seconds: 3, sinad: 12, second: 0.08, third: 0.03},
		{name: "30 dB, hum, 5 s", seconds: 5, sinad: 30, second: 0.02, third: 0.01, hum: 0.01},
		{name: "40 dB, drifting 0.3 Hz/s, 5 s", seconds: 5, sinad: 40, second: 0.02, third: 0.005, drift: 0.3},
		{name: "20 dB, half a second", seconds: 0.5, sinad: 20, second: 0.1, third: 0.05},
		{name: "25 dB, no distortion, 4 s", seconds: 4, sinad: 25},
	} {
		t.Run(c.name, func(t *testing.T) { toneCoverage(t, c, records, full) })
	}
}

func toneCoverage(t *testing.T, c toneCase, records int, full bool) {
	const a = 0.3
	level, hz, thd, sinad, conv, noise := &covered{name: "level"}, &covered{name: "frequency"}, &covered{name: "THD"},
		&covered{name: "SINAD, radio"}, &covered{name: "SINAD, converter"}, &covered{name: "noise"}
	for k := range records {
		x, f, sigma := c.record(rand.New(rand.NewPCG(uint64(k), 77)))
		r, err := AnalyseTone(context.Background(), FromSlice(16000, x), ToneOptions{Hz: f, FromHz: 60, ToHz: 3400}, nil)
		if err != nil {
			t.Fatal(err)
		}
		n := sigma * sigma * (3400 - 60) / 8000
		rest := n + a*a/2*(c.second*c.second+c.third*c.third) + c.hum*c.hum/2
		level.add(r.LevelDBFS, r.LevelU, 20*math.Log10(a))
		hz.add(r.Hz, r.HzU, f+c.drift*c.seconds/2)
		thd.add(r.THD, r.THDU, math.Hypot(c.second, c.third))
		sinad.add(r.SINADRadio, r.SINADRadioU, 10*math.Log10((a*a/2+rest)/rest))
		conv.add(r.SINADConverter, r.SINADConverterU, 10*math.Log10(a*a/2/rest))
		noise.add(r.Noise, r.NoiseU, n)
	}
	list := []*covered{level, sinad, conv, noise}
	if c.second > 0 {
		list = append(list, thd)
	}
	if c.drift == 0 {
		list = append(list, hz)
	}
	for _, v := range list {
		v.check(t, full)
	}
	if c.second == 0 && thd.in < thd.all*9/10 { // at 0 the interval is one-sided and may hold more
		t.Errorf("no distortion: held in %d of %d", thd.in, thd.all)
	}
}
