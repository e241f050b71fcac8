package signal

import (
	"context"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestButterworthCorners(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]float64{8000, 44100, 192000}).Draw(t, "rate")
		order := rapid.IntRange(1, 12).Draw(t, "order")
		low := rapid.Float64Range(0.01, 0.2).Draw(t, "low") * rate
		high := low + rapid.Float64Range(0.02, 0.2).Draw(t, "width")*rate
		lp, err1 := LowPass(rate, low, order)
		hp, err2 := HighPass(rate, low, order)
		bp, err3 := BandPass(rate, low, high, order)
		if err1 != nil || err2 != nil || err3 != nil {
			t.Fatal(err1, err2, err3)
		}
		for what, v := range map[string][2]float64{
			"low-pass at its corner": {lp.DB(low), -3.0103}, "low-pass at 0": {lp.DB(0), 0},
			"high-pass at its corner": {hp.DB(low), -3.0103}, "high-pass at half the rate": {hp.DB(rate / 2), 0},
			"band-pass at the lower edge": {bp.DB(low), -3.0103}, "band-pass at the upper edge": {bp.DB(high), -3.0103},
		} {
			if math.Abs(v[0]-v[1]) > 1e-4 {
				t.Fatalf("%s: %v dB, expected %v (order %d, %v and %v Hz of %v)", what, v[0], v[1], order, low, high, rate)
			}
		}
	})
}

// Noise bandwidth over 3 dB width of the Butterworth filter, from the response
// of ours far below half the rate (published: Winder, table A.3).
func TestNoiseBandwidthOfButterworthFilters(t *testing.T) {
	for _, row := range publishedRows(t, "enbw.csv") {
		if row["filter"] != "butterworth lowpass or tuned bandpass" {
			continue
		}
		order := int(published(t, row, "order"))
		const rate, corner = 1e6, 20.0
		f, err := LowPass(rate, corner, order)
		if err != nil {
			t.Fatal(err)
		}
		// Trapezoid over a logarithmic axis, dense enough for 1e-5.
		sum, last, at := 0.0, 1.0, 0.0
		for hz := 0.01; hz < rate/2; hz *= 1.002 {
			g := math.Pow(10, f.DB(hz)/10)
			sum += (g + last) / 2 * (hz - at)
			last, at = g, hz
		}
		tol := 2e-5
		if order == 1 {
			tol = 2e-4 // its tail runs on beyond half the rate
		}
		within(t, fmt.Sprintf("order %d", order), sum/corner, published(t, row, "enbw_ratio"), tol)
	}
}

// A filter must not care how the sound is cut into blocks, and what it does to
// a sine must be what its response says.
func TestFilterInBlocks(t *testing.T) {
	f, err := BandPass(8000, 300, 3000, 4)
	if err != nil {
		t.Fatal(err)
	}
	x := sine(16000, 8000, 500, 1, 0)
	whole := append([]float64(nil), x...)
	f.Fresh().Process(whole)
	g := f.Fresh()
	for i := 0; i < len(x); i += 37 {
		g.Process(x[i:min(i+37, len(x))])
	}
	for i := range x {
		if x[i] != whole[i] {
			t.Fatalf("sample %d differs", i)
		}
	}
	within(t, "gain at 500 Hz", 10*math.Log10(2*sumSquares(x[8000:])/8000), f.DB(500), 1e-6)
}

func TestFilterRefuses(t *testing.T) {
	for _, try := range []func() (*Filter, error){
		func() (*Filter, error) { return LowPass(8000, 4000, 2) },
		func() (*Filter, error) { return LowPass(8000, 100, 0) },
		func() (*Filter, error) { return HighPass(math.NaN(), 100, 1) },
		func() (*Filter, error) { return BandPass(8000, 300, 200, 1) },
		func() (*Filter, error) { return BandPass(8000, math.NaN(), 200, 1) },
	} {
		if _, err := try(); err == nil {
			t.Error("a filter that cannot be was made")
		}
	}
}

// A tone that comes and goes in noise is followed in its band.
func TestTrackLevelInABand(t *testing.T) {
	const rate = 8000.0
	x := hiss(80000, 0.1, 2)
	tone := sine(80000, rate, 1000, 0.1, 0)
	for i := range x {
		if i >= 40000 {
			x[i] += tone[i]
		}
	}
	tr, err := TrackLevel(context.Background(), FromSlice(rate, x), LevelTrackOptions{Band: [2]float64{900, 1100}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	noise := 0.01 * 200 / 4000 * 1.026 // through a Butterworth band-pass of order 4
	for i, at := range tr.TimeS {
		want := noise
		if at > 5.5 {
			want += 0.005
		}
		if at > 4.4 && at < 5.6 {
			continue
		}
		within(t, fmt.Sprintf("power at %.2f s", at), tr.Power[i], want, 4*tr.U[i])
		if tr.U[i] > 0.3*want {
			t.Errorf("uncertainty at %.2f s is %v of %v", at, tr.U[i], want)
		}
	}
}

// Times are the middles of windows by the frame count, across a gap too.
func TestTrackLevelTimes(t *testing.T) {
	x := make([]float64, 10000)
	for i := range x {
		x[i] = 1
	}
	tr, err := TrackLevel(context.Background(), FromSlice(1000, x), LevelTrackOptions{StepS: 0.5, WindowS: 1, Gaps: []Gap{{Frame: 3200, Frames: 100}}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "first", tr.TimeS[0], 0.5, 1e-9)
	within(t, "last before the gap", tr.TimeS[4], 2.5, 1e-9)
	within(t, "first after it", tr.TimeS[5], 3.8, 1e-9)
	within(t, "power", tr.Power[5], 1, 1e-12)
	if _, err := TrackLevel(context.Background(), FromSlice(1000, x[:100]), LevelTrackOptions{}, nil); err == nil {
		t.Error("a window longer than the record was not refused")
	}
}
