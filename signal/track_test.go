package signal_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"setwright/signal"
)

// note is an invented beat note whose frequency is a function of time.
type note struct {
	rate, seconds float64
	hz            func(t float64) float64
	amplitude     func(t float64) float64
	noise         float64 // rms of white noise over the whole band
	seed          uint64
	also          func(t float64) float64
}

func (n note) samples() []float64 {
	rng := rand.New(rand.NewPCG(n.seed, 99))
	x := make([]float64, int(n.rate*n.seconds))
	phase := rng.Float64()
	for i := range x {
		t := float64(i) / n.rate
		a := 0.1
		if n.amplitude != nil {
			a = n.amplitude(t)
		}
		x[i] = a*math.Cos(2*math.Pi*phase) + n.noise*rng.NormFloat64()
		if n.also != nil {
			x[i] += n.also(t)
		}
		phase = math.Mod(phase+n.hz(t+0.5/n.rate)/n.rate, 1)
	}
	return x
}

func track(t testing.TB, x []float64, rate float64, o signal.TrackOptions) *signal.Track {
	t.Helper()
	tr, err := signal.TrackTone(context.Background(), signal.FromSlice(rate, x), o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

func steady(hz float64) func(float64) float64 { return func(float64) float64 { return hz } }

// errors returns rms error, mean stated u² and share inside 1.96 u of the found points.
func errorsOf(tr *signal.Track, hz func(float64) float64) (rms, u, inside float64, lost int) {
	n := 0.0
	for _, p := range tr.Points {
		if p.Lost {
			lost++
			continue
		}
		d := p.Hz - hz(p.TimeS)
		rms += d * d
		u += p.U * p.U
		if math.Abs(d) < 1.96*p.U {
			inside++
		}
		n++
	}
	return math.Sqrt(rms / n), math.Sqrt(u / n), inside / n, lost
}

// bound is the Cramér-Rao bound of a step of a second in white noise.
func bound(rate, amplitude, noise float64) float64 {
	n := rate
	eta := amplitude * amplitude / (2 * noise * noise)
	return rate / (2 * math.Pi) * math.Sqrt(12/(eta*n*(n*n-1)))
}

// A tone of 0.1 in noise of 0.01 over the whole band: each second's frequency
// scatters by no more than the Cramér-Rao bound allows.
func TestTrackReachesTheBound(t *testing.T) {
	n := note{rate: 48000, seconds: 200, hz: steady(997.3), noise: 0.01, seed: 1}
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{})
	rms, u, inside, lost := errorsOf(tr, n.hz)
	crb := bound(48000, 0.1, 0.01)
	t.Logf("rms %.3g stated %.3g bound %.3g inside %.3f", rms, u, crb, inside)
	if lost > 0 || len(tr.Points) != 200 {
		t.Fatalf("%d points, %d lost", len(tr.Points), lost)
	}
	if rms > 1.13*crb { // 200 points: 5 % of chance on top of 1.05
		t.Errorf("rms error %.3g Hz, bound %.3g Hz", rms, crb)
	}
	if u < 0.9*crb || u > 1.15*crb {
		t.Errorf("stated %.3g Hz, bound %.3g Hz", u, crb)
	}
	last := tr.Points[199]
	if last.Run != 0 {
		t.Errorf("the phase of a steady tone broke into %d runs", last.Run+1)
	}
	cycles := last.Cycles - tr.Points[0].Cycles
	if math.Abs(cycles-997.3*199) > 0.01 {
		t.Errorf("%.4f cycles in 199 s of 997.3 Hz", cycles)
	}
	if math.Abs(last.SNRdB-17) > 0.2 {
		t.Errorf("signal to noise %.2f dB of 17", last.SNRdB)
	}
}

// The note falls through zero beat and comes up on the other side.
func TestTrackThroughZeroBeat(t *testing.T) {
	hz := func(s float64) float64 { return 300 - 2.1*s + 0.0007*s*s }
	n := note{rate: 8000, seconds: 260, hz: hz, noise: 0.02, seed: 2}
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{})
	if len(tr.ZeroBeats) != 1 || !tr.ZeroBeats[0].Followed || !tr.Signed {
		t.Fatalf("zero beats %+v, notes %v", tr.ZeroBeats, tr.Notes)
	}
	rms, u, inside, lost := errorsOf(tr, hz)
	t.Logf("rms %.3g stated %.3g inside %.3f lost %d zero %+v", rms, u, inside, lost, tr.ZeroBeats)
	if inside < 0.88 || lost > 30 {
		t.Errorf("inside %.3f, lost %d", inside, lost)
	}
}

// A warm-up at its start: 600 Hz in the first minute.
func TestTrackSteepStart(t *testing.T) {
	hz := func(s float64) float64 { return 2500 - 700*(1-math.Exp(-s/60)) }
	n := note{rate: 12000, seconds: 120, hz: hz, noise: 0.1, seed: 3} // 0.1 in 6 kHz: -3 dB
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{})
	rms, u, inside, lost := errorsOf(tr, hz)
	t.Logf("rms %.3g stated %.3g inside %.3f lost %d runs %d", rms, u, inside, lost, tr.Points[len(tr.Points)-1].Run)
	if lost > 0 || inside < 0.88 {
		t.Errorf("inside %.3f, lost %d", inside, lost)
	}
}

// The line's hum, stronger than the note, is crossed on the way down.
func TestTrackCrossesHum(t *testing.T) {
	hz := func(s float64) float64 { return 120 - 0.5*s }
	hum := func(s float64) float64 { return 0.2*math.Sin(2*math.Pi*50.02*s) + 0.08*math.Sin(2*math.Pi*100.04*s+1) }
	n := note{rate: 8000, seconds: 190, hz: hz, noise: 0.01, seed: 4, also: hum}
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{})
	rms, u, inside, lost := errorsOf(tr, hz)
	t.Logf("rms %.3g stated %.3g inside %.3f lost %d notes %v", rms, u, inside, lost, tr.Notes)
	if lost < 6 || lost > 20 || inside < 0.88 {
		t.Errorf("lost %d, inside %.3f", lost, inside)
	}
	for _, p := range tr.Points {
		if !p.Lost && math.Abs(p.Hz-hz(p.TimeS)) > 0.2 {
			t.Errorf("at %.1f s %.3f Hz of %.3f, u %.3f", p.TimeS, p.Hz, hz(p.TimeS), p.U)
		}
	}
}

// 10 ms of zeros replace what a sound path lost: a gap, no phase over it.
func TestTrackZerosBreakTheRun(t *testing.T) {
	n := note{rate: 48000, seconds: 20, hz: steady(997), noise: 0.001, seed: 5}
	x := n.samples()
	clear(x[8*48000+100 : 8*48000+580])
	tr := track(t, x, n.rate, signal.TrackOptions{})
	if len(tr.Gaps) != 1 || tr.Gaps[0].Frames != 480 || tr.Gaps[0].Frame != 8*48000+100 {
		t.Fatalf("gaps %+v", tr.Gaps)
	}
	if last := tr.Points[len(tr.Points)-1]; last.Run != 1 {
		t.Errorf("runs %d", last.Run)
	}
	rms, u, inside, lost := errorsOf(tr, n.hz)
	t.Logf("rms %.3g stated %.3g inside %.3f lost %d", rms, u, inside, lost)
}

// Noise alone holds no tone.
func TestTrackInventsNothing(t *testing.T) {
	n := note{rate: 8000, seconds: 120, hz: steady(700), amplitude: steady(0), noise: 0.1, seed: 6}
	for _, p := range track(t, n.samples(), n.rate, signal.TrackOptions{}).Points {
		if !p.Lost || p.Why == "" || p.Hz != 0 {
			t.Fatalf("noise gave %+v", p)
		}
	}
}

// A keyed carrier: the mark alone carries the phase.
func TestTrackKeyed(t *testing.T) {
	key := func(s float64) float64 {
		if math.Mod(s, 0.24) < 0.12 {
			return 0.1
		}
		return 0
	}
	hz := func(s float64) float64 { return 650 + 0.3*s }
	n := note{rate: 8000, seconds: 100, hz: hz, amplitude: key, noise: 0.03, seed: 7}
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{})
	rms, u, inside, lost := errorsOf(tr, hz)
	t.Logf("rms %.3g stated %.3g inside %.3f lost %d", rms, u, inside, lost)
	if lost > 0 || inside < 0.88 || rms > 2*bound(8000, 0.1, 0.03) {
		t.Errorf("inside %.3f, lost %d, rms %.3g", inside, lost, rms)
	}
}

// The signal fades right out for twelve seconds and comes back.
func TestTrackFade(t *testing.T) {
	fade := func(s float64) float64 { return 0.1 * math.Max(0, math.Cos(2*math.Pi*s/60)+0.55) }
	hz := func(s float64) float64 { return 850 + 0.1*s }
	n := note{rate: 8000, seconds: 180, hz: hz, amplitude: fade, noise: 0.1, seed: 8}
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{})
	rms, u, inside, lost := errorsOf(tr, hz)
	t.Logf("rms %.3g stated %.3g inside %.3f lost %d", rms, u, inside, lost)
	if lost < 20 || lost > 80 || inside < 0.88 {
		t.Errorf("inside %.3f, lost %d", inside, lost)
	}
}

func TestStrongestToneAndLive(t *testing.T) {
	n := note{rate: 44100, seconds: 5, hz: steady(1234.56), noise: 0.1, seed: 9}
	x := n.samples()
	hz, snr, err := signal.StrongestTone(context.Background(), signal.FromSlice(n.rate, x), 0, 0)
	if err != nil || math.Abs(hz-1234.56) > 0.2 || math.Abs(10*math.Log10(snr)+3+0) > 0.7 {
		t.Errorf("%.2f Hz, %.2f dB, %v", hz, 10*math.Log10(snr), err)
	}
	live := signal.NewLiveTone(n.rate)
	if _, _, _, ok := live.Read(); ok {
		t.Error("a tone before anything was heard")
	}
	for len(x) > 0 {
		k := min(len(x), 1000)
		live.Add(x[:k])
		x = x[k:]
	}
	hz, u, level, ok := live.Read()
	if !ok || math.Abs(hz-1234.56) > 4*u || u > 0.01 || math.Abs(level+20) > 0.3 {
		t.Errorf("live: %.4f ± %.4f Hz, %.2f dBFS, %v", hz, u, level, ok)
	}
	if _, _, err := signal.StrongestTone(context.Background(), signal.FromSlice(8000, nil), 0, 0); err == nil {
		t.Error("nothing holds no tone")
	}
}

// Invented sets with all kinds of hum, slide and noise: whatever is found is the
// tone, within what is stated of it.
func TestTrackAmongHumInventsNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for k := range 12 {
		mains := []float64{50, 60}[k%2] + 0.2*(rng.Float64()-0.5)
		start := 2*mains + 10 + (mains-20)*rng.Float64() // between two multiples
		slope := -math.Exp(math.Log(0.2) + rng.Float64()*math.Log(30))
		strength, p1, p2 := 0.02*math.Exp(3*rng.Float64()), 6*rng.Float64(), 6*rng.Float64()
		hum := func(s float64) float64 {
			w := 2 * math.Pi * mains * s
			return strength * (math.Sin(w+p1) + 0.5*math.Sin(2*w+p2) + 0.3*math.Sin(3*w))
		}
		hz := func(s float64) float64 { return start + slope*s }
		n := note{rate: 4000, seconds: math.Min(80, -(start+150)/slope), hz: hz, noise: 0.001 * math.Exp(4*rng.Float64()), seed: uint64(k), also: hum}
		found := 0
		for _, p := range track(t, n.samples(), n.rate, signal.TrackOptions{}).Points {
			if p.Lost {
				continue
			}
			found++
			if off := math.Abs(math.Abs(p.Hz) - math.Abs(hz(p.TimeS))); off > 6*p.U+0.02 {
				t.Errorf("%d: start %.1f Hz, %.2f Hz/s, hum %.3f at %.2f Hz: at %.1f s %.3f Hz ± %.3f, true %.3f", k, start, slope, strength, mains, p.TimeS, p.Hz, p.U, hz(p.TimeS))
			}
		}
		if found < 10 {
			t.Errorf("%d: found in %d seconds only", k, found)
		}
	}
}

// A mistuned dial: the note jumps by 180 Hz and back.
func TestTrackJump(t *testing.T) {
	hz := func(s float64) float64 {
		if s > 20.3 && s < 40.7 {
			return 1080
		}
		return 900
	}
	n := note{rate: 8000, seconds: 60, hz: hz, noise: 0.05, seed: 10}
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{})
	found := map[int]int{}
	for _, p := range tr.Points {
		if !p.Lost {
			found[p.Run]++
			if off := math.Min(math.Abs(p.Hz-900), math.Abs(p.Hz-1080)); off > 0.05+6*p.U {
				t.Errorf("at %.1f s %.3f ± %.3f Hz", p.TimeS, p.Hz, p.U)
			}
		}
	}
	if len(found) < 3 || len(tr.Points) != 60 {
		t.Errorf("runs %v", found)
	}
}

// The side of zero beat is not known where the note lingers there: it sinks to
// 40 Hz, vanishes, and is back at another frequency much later.
func TestTrackLingersInZeroBeat(t *testing.T) {
	hz := func(s float64) float64 {
		if s < 100 {
			return 60 - 0.6*s
		}
		if s < 200 {
			return 0.5
		}
		return 0.3 * (s - 200)
	}
	n := note{rate: 4000, seconds: 400, hz: hz, noise: 0.02, seed: 12}
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{})
	if len(tr.ZeroBeats) != 1 || tr.ZeroBeats[0].Followed || math.IsInf(tr.UnsignedFromS, 1) {
		t.Fatalf("zero beats %+v", tr.ZeroBeats)
	}
	for _, p := range tr.Points {
		if !p.Lost && math.Abs(p.Hz-math.Abs(hz(p.TimeS))) > 0.1 {
			t.Errorf("at %.1f s %.3f Hz", p.TimeS, p.Hz)
		}
	}
}

// A capture that lost half a second and knows it: time goes on, phase does not.
func TestTrackKnownGap(t *testing.T) {
	n := note{rate: 8000, seconds: 30, hz: steady(1000), noise: 0.01, seed: 13}
	tr := track(t, n.samples(), n.rate, signal.TrackOptions{Gaps: []signal.Gap{{Frame: 80000, LostS: 0.5, Why: "late by the clock"}}})
	last := tr.Points[len(tr.Points)-1]
	if last.Run != 1 || math.Abs(last.TimeS-30) > 1e-6 {
		t.Errorf("last point %+v", last)
	}
}

// Whatever comes in, nothing panics and nothing is made up: samples that are no
// numbers, gaps anywhere, too little of everything.
func TestTrackSurvives(t *testing.T) {
	n := note{rate: 8000, seconds: 12, hz: steady(1000), noise: 0.01, seed: 14}
	x := n.samples()
	x[4*8000+17] = math.NaN()
	x[5*8000] = math.Inf(1)
	for _, p := range track(t, x, n.rate, signal.TrackOptions{}).Points {
		if !p.Lost && !(math.Abs(p.Hz-1000) < 0.05) {
			t.Errorf("at %.1f s %v", p.TimeS, p)
		}
	}
	if tr := track(t, nil, 8000, signal.TrackOptions{}); len(tr.Points) != 0 || tr.Signed {
		t.Errorf("nothing gives %+v", tr)
	}
	if _, err := signal.TrackTone(context.Background(), signal.FromSlice(8000, x), signal.TrackOptions{StepS: 1e9}, nil); err == nil {
		t.Error("a step of thirty years")
	}
	rapid.Check(t, func(r *rapid.T) {
		part := x[:rapid.IntRange(0, len(x)).Draw(r, "frames")]
		var gaps []signal.Gap
		for range rapid.IntRange(0, 4).Draw(r, "gaps") {
			gaps = append(gaps, signal.Gap{Frame: rapid.Int64Range(-10, int64(len(x))+10).Draw(r, "at"), Frames: rapid.Int64Range(0, 9000).Draw(r, "long")})
		}
		step := rapid.SampledFrom([]float64{0.2, 0.5, 1, 3}).Draw(r, "step")
		tr, err := signal.TrackTone(context.Background(), signal.FromSlice(8000, part), signal.TrackOptions{Gaps: gaps, StepS: step}, nil)
		if err != nil {
			r.Fatal(err)
		}
		for _, p := range tr.Points {
			if p.TimeS < 0 || p.TimeS > float64(len(part))/8000 || !p.Lost && math.Abs(p.Hz-1000) > 0.02+8*p.U {
				r.Fatalf("%+v", p)
			}
		}
	})
}
