package stability

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

type testFFT struct{ f *fourier.FFT }

func newTestFFT(n int) testFFT { return testFFT{fourier.NewFFT(n)} }

func (t testFFT) convolve(a, b []float64) []float64 {
	x, y := t.f.Coefficients(nil, a), t.f.Coefficients(nil, b)
	for i := range x {
		x[i] *= y[i]
	}
	out := t.f.Sequence(nil, x)
	for i := range out {
		out[i] /= float64(len(out))
	}
	return out
}

func TestCoverageX(t *testing.T) {
	count := 100
	if s := os.Getenv("CNT"); s != "" {
		count, _ = strconv.Atoi(s)
	}
	for k, v := range map[string]*float64{"PW": &noisePriorWhite, "PF": &noisePriorFlicker, "PR": &noisePriorWalk, "PE": &noisePriorFall} {
		if s := os.Getenv(k); s != "" {
			*v, _ = strconv.ParseFloat(s, 64)
		}
	}
	if os.Getenv("SETWRIGHT_COVERAGE") == "full" {
		count = 1000
	}
	for _, dt := range simDts() {
		for _, kind := range strings.Split(kindsEnv(), ",") {
			for _, warm := range []bool{false, true} {
				c := count
				if dt == 1 && count == 100 {
					c = 50
				}
				simCover(t, dt, kind, warm, c)
			}
		}
	}
}

func simCover(t *testing.T, dt float64, kind string, warm bool, count int) {
	n := int(7200/dt) + 1
	times := make([]float64, n)
	curve := make([]float64, n)
	for i := range times {
		times[i] = float64(i) * dt
		curve[i] = 5e6 + 5.0/3600*times[i]
		if warm {
			curve[i] += -2000*math.Exp(-times[i]/600) + 300*math.Exp(-times[i]/120)
		}
	}
	fitter, err := NewWarmUpFitter(times, WarmUpOptions{})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	in, inLim, inSlope := 0, 0, 0
	var in1, in2, n2 int
	sumU, sumE := 0.0, 0.0
	terms := map[int]int{}
	kinds := map[NoiseKind]int{}
	errs := 0
	truthW, _ := FitResidualDrift(times, curve, Noise{}, ResidualDriftOptions{})
	for range count {
		f := simNoise(kind, n, dt, rng)
		for i := range f {
			f[i] += curve[i]
		}
		w, err := fitter.Fit(context.Background(), f)
		if err != nil {
			errs++
			continue
		}
		terms[len(w.Terms)]++
		kinds[w.Noise.Kind()]++
		r, err := FitResidualDrift(times, f, w.Noise, ResidualDriftOptions{})
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := r.Interval(0.95)
		if truth := truthW.HzPerHour; lo <= truth && truth <= hi {
			in++
		}
		sumU += r.UHzPerHour * r.UHzPerHour
		sumE += (r.HzPerHour - truthW.HzPerHour) * (r.HzPerHour - truthW.HzPerHour)
		lim, u := w.LimitAt(7200)
		if math.Abs(lim-5e6-10) < u*tQuantile(0.95, w.DoFLimit) {
			inLim++
		}
		if math.Abs(w.SlopeHzPerS*3600-5) < 3600*math.Sqrt(w.Cov[1][1])*tQuantile(0.95, w.DoFSlope) {
			inSlope++
		}
		if warm && len(w.Terms) == 2 {
			n2++
			if math.Abs(w.Terms[0].TauS-120) < w.Terms[0].UTauS*tQuantile(0.95, w.Terms[0].DoF) {
				in1++
			}
			if math.Abs(w.Terms[1].TauS-600) < w.Terms[1].UTauS*tQuantile(0.95, w.Terms[1].DoF) {
				in2++
			}
		}
	}
	fmt.Printf("dt=%v %-12s warm=%-5v slope cover %.3f limit %.3f line %.3f tau1 %d/%d tau2 %d | rms u %.3g rms err %.3g | terms %v kinds %v errs %d\n", dt, kind, warm,
		float64(in)/float64(count), float64(inLim)/float64(count), float64(inSlope)/float64(count), in1, n2, in2, math.Sqrt(sumU/float64(count)), math.Sqrt(sumE/float64(count)), terms, kinds, errs)
}

func simDts() []float64 {
	if s := os.Getenv("DT"); s != "" {
		v, _ := strconv.ParseFloat(s, 64)
		return []float64{v}
	}
	return []float64{1, 10, 30}
}

func kindsEnv() string {
	if s := os.Getenv("KINDS"); s != "" {
		return s
	}
	return "white,ar1,flicker,random walk"
}
