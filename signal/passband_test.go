package signal

import (
	"context"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// receiverNoise is white noise through a filter, with a floor of white noise
// added to it.
func receiverNoise(t testing.TB, f *Filter, seconds, floor float64, seed uint64) *Spectrum {
	t.Helper()
	n := int(seconds * f.RateHz)
	x := hiss(n, 1, seed)
	f.Fresh().Process(x)
	for i, v := range hiss(n, floor, seed+1e6) {
		x[i] += v
	}
	s, err := Welch(context.Background(), FromSlice(f.RateHz, x), SpectrumOptions{Segment: 8192, KeepMean: true}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func bandFilter(t testing.TB, rate, low, high float64, order int) *Filter {
	t.Helper()
	f, err := BandPass(rate, low, high, order)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// A voice filter of known shape through 60 s of noise: edges, noise bandwidth
// and maximum come back inside three uncertainties, and uncertainties are small.
func TestPassbandOfAKnownFilter(t *testing.T) {
	f := bandFilter(t, 16000, 600, 2800, 4)
	p, err := NoiseBandwidth(receiverNoise(t, f, 60, 0, 1), BandwidthOptions{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "noise bandwidth", p.NoiseBandwidthHz, noiseGain(f)*8000, 3*p.NoiseBandwidthU)
	within(t, "maximum", p.PeakDensity, 2/16000.0, 3*p.PeakDensityU)
	if p.NoiseBandwidthU > 0.02*p.NoiseBandwidthHz {
		t.Errorf("uncertainty of the noise bandwidth %.3g of %.4g Hz", p.NoiseBandwidthU, p.NoiseBandwidthHz)
	}
	for _, e := range p.Edges {
		low, high := truEdge(f, e.DownDB, 600, 1), truEdge(f, e.DownDB, 2800, 7999)
		within(t, fmt.Sprintf("lower edge at -%g dB", e.DownDB), e.LowHz, low, 3*e.LowU)
		within(t, fmt.Sprintf("upper edge at -%g dB", e.DownDB), e.HighHz, high, 3*e.HighU)
		if e.LowBound || e.HighBound || e.LowU > 30 || e.HighU > 30 {
			t.Errorf("edges at -%g dB: %+v", e.DownDB, e)
		}
	}
	if p.RippleDB != 0 {
		t.Errorf("ripple %.2f dB of a filter with one hump", p.RippleDB)
	}
}

// truEdge finds by halving where the filter is so far down.
func truEdge(f *Filter, down, inside, outside float64) float64 {
	for range 60 {
		if m := (inside + outside) / 2; f.DB(m) > -down {
			inside = m
		} else {
			outside = m
		}
	}
	return inside
}

// Where the recorder's own noise ends the data 45 dB down, −60 dB is a bound
// and says so, and the bound lies inside the true edge.
func TestPassbandAboveAFloor(t *testing.T) {
	f := bandFilter(t, 16000, 600, 2800, 4)
	p, err := NoiseBandwidth(receiverNoise(t, f, 60, math.Pow(10, -45.0/20), 2), BandwidthOptions{})
	if err != nil {
		t.Fatal(err)
	}
	six, sixty := p.Edges[0], p.Edges[1]
	if six.LowBound || six.HighBound || !sixty.LowBound || !sixty.HighBound {
		t.Fatalf("bounds: %+v", p.Edges)
	}
	if sixty.LowHz < truEdge(f, 60, 600, 1) || sixty.HighHz > truEdge(f, 60, 2800, 7999) || sixty.HighHz < six.HighHz {
		t.Errorf("the bounds %.0f and %.0f Hz are not inside the true edges and outside those of -6 dB", sixty.LowHz, sixty.HighHz)
	}
	within(t, "floor", 10*math.Log10(p.FloorDensity/p.PeakDensity), -45, 1.5)
}

// Hum and a whistle in the noise are found, named and left out.
func TestPassbandWithoutLines(t *testing.T) {
	f := bandFilter(t, 16000, 600, 2800, 4)
	x := hiss(16000*60, 1, 3)
	f.Process(x)
	for _, hz := range []float64{1234.5, 700} {
		for i, v := range sine(len(x), 16000, hz, 0.5, 1) {
			x[i] += v
		}
	}
	s, err := Welch(context.Background(), FromSlice(16000, x), SpectrumOptions{Segment: 8192}, nil)
	if err != nil {
		t.Fatal(err)
	}
	p, err := NoiseBandwidth(s, BandwidthOptions{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "noise bandwidth", p.NoiseBandwidthHz, noiseGain(f)*8000, 3*p.NoiseBandwidthU)
	if len(p.Lines) != 2 || math.Abs(p.Lines[0]-700) > 2 || math.Abs(p.Lines[1]-1234.5) > 2 {
		t.Errorf("lines at %v Hz, expected 700 and 1234.5", p.Lines)
	}
}

// A comb of hum, each harmonic nearer to the next than the bins that a line is
// compared with, and from the lowest bins on.
func TestPassbandWithoutHum(t *testing.T) {
	f := bandFilter(t, 16000, 60, 2800, 4)
	x := hiss(16000*60, 1, 4)
	f.Process(x)
	for k := 1; k <= 12; k++ {
		for i, v := range sine(len(x), 16000, 49.97*float64(k), 1/float64(k), float64(k)) {
			x[i] += v
		}
	}
	s, err := Welch(context.Background(), FromSlice(16000, x), SpectrumOptions{Segment: 4096}, nil)
	if err != nil {
		t.Fatal(err)
	}
	p, err := NoiseBandwidth(s, BandwidthOptions{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "noise bandwidth", p.NoiseBandwidthHz, noiseGain(f)*8000, 3*p.NoiseBandwidthU)
	if len(p.Lines) != 12 {
		t.Errorf("lines at %.0f Hz, expected twelve", p.Lines)
	}
}

// A recording whose noise does not fall towards zero frequency has no lower
// edge in the data: the bound is their end.
func TestPassbandOpenAtOneEnd(t *testing.T) {
	f, err := LowPass(16000, 2500, 4)
	if err != nil {
		t.Fatal(err)
	}
	p, err := NoiseBandwidth(receiverNoise(t, f, 60, 0, 5), BandwidthOptions{})
	if err != nil {
		t.Fatal(err)
	}
	e := p.Edges[0]
	if !e.LowBound || e.LowHz > 5 || e.HighBound {
		t.Errorf("edges %+v", e)
	}
	within(t, "noise bandwidth", p.NoiseBandwidthHz, noiseGain(f)*8000, 3*p.NoiseBandwidthU)
}

// Two humps 3 dB above the valley between them.
func TestPassbandRipple(t *testing.T) {
	const rate = 16000.0
	n := int(120 * rate)
	x := make([]float64, n)
	for k, hz := range []float64{1300, 1900} {
		y := hiss(n, 1, uint64(20+k))
		bandFilter(t, rate, hz-150, hz+150, 1).Process(y)
		for i, v := range y {
			x[i] += v
		}
	}
	// Powers of two independent noises add.
	a, b := bandFilter(t, rate, 1150, 1450, 1), bandFilter(t, rate, 1750, 2050, 1)
	gain := func(hz float64) float64 { return math.Pow(10, a.DB(hz)/10) + math.Pow(10, b.DB(hz)/10) }
	valley, left, right := math.Inf(1), 0.0, 0.0
	for hz := 1100.0; hz < 2100; hz++ {
		switch g := gain(hz); {
		case hz < 1500:
			left = max(left, g)
		case hz > 1700:
			right = max(right, g)
		default:
			valley = min(valley, g)
		}
	}
	s, err := Welch(context.Background(), FromSlice(rate, x), SpectrumOptions{Segment: 8192}, nil)
	if err != nil {
		t.Fatal(err)
	}
	p, err := NoiseBandwidth(s, BandwidthOptions{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "ripple in dB", p.RippleDB, 10*math.Log10(min(left, right)/valley), 0.4)
}

// Coverage of noise bandwidth and edges, for a flat-topped and for a single
// tuned filter.
func TestPassbandCoverage(t *testing.T) {
	records := 40
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		records = 300
	}
	for name, f := range map[string]*Filter{"flat top": bandFilter(t, 16000, 600, 2800, 4), "single tuned": bandFilter(t, 16000, 1300, 1700, 1)} {
		low, high := f.edges3dB()
		truth := []float64{noiseGain(f) * 8000, 2 / 16000.0, truEdge(f, 6, low, 1), truEdge(f, 6, high, 7999)}
		inside := make([]int, len(truth))
		for i := range records {
			p, err := NoiseBandwidth(receiverNoise(t, f, 20, 0, uint64(100+i)), BandwidthOptions{})
			if err != nil {
				t.Fatal(err)
			}
			e := p.Edges[0]
			for k, v := range [][2]float64{{p.NoiseBandwidthHz, p.NoiseBandwidthU}, {p.PeakDensity, p.PeakDensityU}, {e.LowHz, e.LowU}, {e.HighHz, e.HighU}} {
				if math.Abs(v[0]-truth[k]) <= 2*v[1] {
					inside[k]++
				}
			}
		}
		least, most := coverageLimits(records)
		for k, what := range []string{"noise bandwidth", "maximum", "lower edge", "upper edge"} {
			share := float64(inside[k]) / float64(records)
			t.Logf("%s, %s: truth inside 95 %% in %.1f %% of %d records", name, what, 100*share, records)
			if share < least || share > most {
				t.Errorf("%s, %s: truth inside 95 %% in %.1f %% of %d records", name, what, 100*share, records)
			}
		}
	}
}

// edges3dB are near the middle of the band, for [truEdge] to begin at.
func (f *Filter) edges3dB() (low, high float64) {
	top, at := math.Inf(-1), 0.0
	for hz := 10.0; hz < f.RateHz/2; hz += 10 {
		if d := f.DB(hz); d > top {
			top, at = d, hz
		}
	}
	return at, at
}

func TestPassbandRefuses(t *testing.T) {
	f := bandFilter(t, 16000, 600, 2800, 4)
	s := receiverNoise(t, f, 10, 0, 1)
	rough := *s
	rough.Effective = 1
	silent := *s
	silent.Density = make([]float64, len(s.Density))
	for want, try := range map[string]func() (Passband, error){
		"empty":           func() (Passband, error) { return NoiseBandwidth(nil, BandwidthOptions{}) },
		"record longer":   func() (Passband, error) { return NoiseBandwidth(&rough, BandwidthOptions{}) },
		"silent":          func() (Passband, error) { return NoiseBandwidth(&silent, BandwidthOptions{}) },
		"longer segments": func() (Passband, error) { return NoiseBandwidth(s, BandwidthOptions{FromHz: 1000, ToHz: 1010}) },
		"rising":          func() (Passband, error) { return NoiseBandwidth(s, BandwidthOptions{FromHz: 1000, ToHz: 10}) },
		"positive number": func() (Passband, error) { return NoiseBandwidth(s, BandwidthOptions{DownDB: []float64{-6}}) },
	} {
		if _, err := try(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, expected something about %q", err, want)
		}
	}
}
