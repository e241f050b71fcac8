package signal

import (
	"context"
	"fmt"
	"math"
)

// ToneOptions say what tone is analysed; zero values are sensible.
type ToneOptions struct {
	Hz           float64 // about where the tone is (within 3 %), 0: the strongest line
	FromHz, ToHz float64 // band of harmonics and noise, 0: 20 Hz and 0.45 of the sample rate
	Harmonics    int     // highest harmonic, 0: 10
	LineHz       float64 // known line frequency, 0: it is estimated; negative: hum is not told from noise
	Gaps         []Gap
	Frames       int64 // length for the progress, 0: not known
}

// Tone is a tone taken apart: fundamental, harmonics, hum and noise. Powers are
// in full-scale² (a sine of peak 1 has 0.5) within the band FromHz to ToHz; DC
// is in none of them.
type Tone struct {
	Hz, HzU           float64 // mean over the recording
	FromHz, ToHz      float64 // the band
	Power, PowerU     float64
	LevelDBFS, LevelU float64 // of the fundamental
	// SwingDB is the standard deviation of the level from block to block: large
	// where the tone fades, and then PowerU is that of the mean power.
	SwingDB   float64
	Harmonics []Harmonic // from the second

	// THD is the rms sum of the harmonics in the band over the fundamental
	// (THD_F), THDTotal the same over the rms sum of fundamental and harmonics
	// (THD_R; IEC 60268-3 14.12.3.2, read in a secondary source), THDNoise all
	// but the fundamental (harmonics, hum, noise) over everything (AES17-2015
	// 6.3.1, likewise). Fractions, not per cent.
	THD, THDU           float64
	THDTotal, THDTotalU float64
	THDNoise, THDNoiseU float64

	// SINADRadio is (S+N+D)/(N+D) in dB (FED-STD-1037C), SINADConverter S/(N+D)
	// (IEEE 1057): not the same at low values.
	SINADRadio, SINADRadioU         float64
	SINADConverter, SINADConverterU float64

	Noise, NoiseU       float64 // without tone, harmonics and hum
	Residual, ResidualU float64 // N+D: noise, harmonics and hum
	Hum                 *Hum

	Seconds float64 // what the figures count for, in time
	Blocks  int
	Notes   []string
}

func (o ToneOptions) withDefaults(rate float64) ToneOptions {
	if o.FromHz <= 0 {
		o.FromHz = 20
	}
	if o.ToHz <= 0 || o.ToHz > rate*0.49 {
		o.ToHz = 0.45 * rate
	}
	if o.Harmonics <= 1 {
		o.Harmonics = 10
	}
	return o
}

// AnalyseTone takes a recording of a tone apart. It is read once, in blocks of a
// second; in each the tone is fitted by a parabola of amplitude and phase, so
// that one that drifts or fades slowly is followed and does not spread into
// what is called noise; harmonics are added up in step with the tone; what is
// left is averaged as a spectrum, from which hum is told apart by its own comb
// of lines. What lies within 4 Hz of the tone (4 bins of a shorter block) counts
// as noise of the density beside it.
//
// The source must have one channel. Errors: no tone that stands out in the first
// 16 s, fewer than ten periods of it, an empty or unbounded band.
func AnalyseTone(ctx context.Context, src Source, o ToneOptions, progress func(float64)) (*Tone, error) {
	head, src, err := lineHead(ctx, src, headFrames(src.Rate()))
	if err != nil {
		return nil, err
	}
	o = o.withDefaults(src.Rate())
	if !(o.ToHz > o.FromHz) {
		return nil, fmt.Errorf("signal: the band from %g to %g Hz is empty", o.FromHz, o.ToHz)
	}
	from, to := lineLongest(int64(len(head)), o.Gaps)
	x := head[from:to]
	if !lineFinite(x) {
		return nil, errNotFinite
	}
	hz, err := findTone(ctx, x, src.Rate(), o)
	if err != nil {
		return nil, err
	}
	a := newLineAnalysis(src.Rate(), int64(len(x)), 0, o.FromHz, o.ToHz)
	a.tone = newToneTrack(src.Rate(), a.size, a.spec.w, hz, o.Harmonics)
	if hz*a.blockS() < 10 {
		return nil, fmt.Errorf("signal: %.3f s hold %.1f periods of a tone of %.1f Hz; ten are needed", a.blockS(), hz*a.blockS(), hz)
	}
	if o.LineHz >= 0 {
		a.tone.avoidFor(a, hz)
		a.startHum(ctx, x, HumOptions{LineHz: o.LineHz}.withDefaults())
		a.avoid = nil
	}
	if err := a.run(ctx, src, o.Gaps, o.Frames, progress); err != nil {
		return nil, err
	}
	return a.toneResult(o), nil
}

// avoidFor keeps the tone and its harmonics out of the search for hum.
func (t *toneTrack) avoidFor(a *lineAnalysis, hz float64) {
	a.avoid = nil
	for n := 1; n <= t.highest; n++ {
		a.avoid = append(a.avoid, hz*float64(n))
	}
}

// findTone is the strongest line in the band, or near the frequency given. A
// strong comb of hum is passed over where something else stands out.
func findTone(ctx context.Context, x []float64, rate float64, o ToneOptions) (float64, error) {
	p, df, k := averagePower(ctx, x, rate, lineBlockS)
	if p == nil {
		return 0, fmt.Errorf("signal: %d samples are too few to find a tone", len(x))
	}
	from, to := o.FromHz, math.Min(o.ToHz, rate/2-3*df)
	if o.Hz > 0 {
		from, to = o.Hz*0.97-2*df, o.Hz*1.03+2*df
	}
	noise := combNoise(p, df, k)
	hz, r := strongest(p, noise, df, from, to, nil)
	if o.Hz <= 0 && hz < 300 {
		c := combSearch(p, df, k, 40, 70, 10, nil)
		if n := math.Round(hz / c.hz); c.found && c.score > combEnough+combMost && n <= 4 && math.Abs(hz-n*c.hz) < 1.5*df*n {
			var lines []float64
			for h := 1.0; h <= 10; h++ {
				lines = append(lines, h*c.hz)
			}
			if other, r2 := strongest(p, noise, df, from, to, lines); r2 > toneStands(k) {
				hz, r = other, r2
			}
		}
	}
	if r < toneStands(k) {
		return 0, fmt.Errorf("signal: no tone stands out between %.0f and %.0f Hz in the first %.1f s: the strongest line, at %.1f Hz, is %.1f dB over the noise beside it",
			from, to, float64(len(x))/rate, hz, 10*math.Log10(math.Max(r, 1e-9)))
	}
	return hz, nil
}

// toneStands is how far above the density beside it the mean of k exponentials
// must rise to be a line: where k(ρ − 1 − ln ρ), the log likelihood against
// noise, passes 20, a chance of about two in a thousand million for one bin.
func toneStands(k float64) float64 {
	lo, hi := 1.0, 1+40/math.Max(k, 0.5)+20
	for range 50 {
		r := (lo + hi) / 2
		if k*(r-1-math.Log(r)) < 20 {
			lo = r
		} else {
			hi = r
		}
	}
	return hi
}

// strongest is the highest line between two frequencies, and how many times the
// noise about it that is.
func strongest(p, noise []float64, df, from, to float64, without []float64) (hz, ratio float64) {
	best := 0
	for k := max(2, int(from/df)); k <= min(len(p)-2, int(to/df)+1); k++ {
		if (best == 0 || p[k] > p[best]) && !near(float64(k)*df, without, 2.5*df) {
			best = k
		}
	}
	if best == 0 {
		return 0, 0
	}
	ratio = math.Inf(1)
	if noise[best] > 0 {
		ratio = p[best] / noise[best]
	} else if p[best] == 0 {
		ratio = 0
	}
	return (float64(best) + hannPeak(p[best-1], p[best], p[best+1])) * df, ratio
}

// toneResult makes the figures of what was counted.
func (a *lineAnalysis) toneResult(o ToneOptions) *Tone {
	t, averages := a.tone, lineAverages(a.blocks, a.pairs)
	seconds := averages * a.blockS()
	r := &Tone{FromHz: o.FromHz, ToHz: o.ToHz, Seconds: seconds, Blocks: a.blocks}
	r.Hz, r.HzU = t.frequency(a.noise.at, a.blockS(), seconds)
	s := a.noise.at(r.Hz)
	r.Power = math.Max(0, t.level.mean-t.share*s/a.blockS())
	r.PowerU = math.Sqrt(2*r.Power*s/seconds + s*s/seconds/seconds)
	r.LevelDBFS = 10 * math.Log10(2*r.Power)
	r.LevelU = 10 / math.Ln10 * r.PowerU / r.Power
	r.SwingDB = 10 / math.Ln10 * math.Sqrt(t.level.variance()) / t.level.mean
	k := float64(a.blocks) / (1 + 2*float64(a.pairs)/float64(a.blocks)/36)
	r.Noise, r.NoiseU = a.noise.power(seconds, k)
	a.sumHarmonics(r, o)
	r.Hum = a.humResult()
	a.ratios(r)
	a.notes(r)
	return r
}

// sumHarmonics fills the harmonics and the two forms of THD without noise.
func (a *lineAnalysis) sumHarmonics(r *Tone, o ToneOptions) {
	averages := lineAverages(a.blocks, a.pairs)
	sum, variance := 0.0, 0.0
	for n := 2; n <= a.tone.highest; n++ {
		h := Harmonic{N: n, Hz: r.Hz * float64(n)}
		if m := a.tone.square[n]; m.n > 0 {
			h.Power, h.PowerU = coherentPower(a.tone.sum[n], m, a.noise.at(h.Hz), a.blockS(), averages)
			if h.InBand = h.Hz >= o.FromHz && h.Hz <= o.ToHz; h.InBand {
				sum += h.Power
				variance += h.PowerU * h.PowerU
			}
		}
		r.Harmonics = append(r.Harmonics, h)
	}
	u := math.Sqrt(variance)
	r.THD, r.THDU = rootRatio(sum, u, r.Power)
	r.THDTotal, r.THDTotalU = rootRatio(sum, u, r.Power+math.Max(0, sum))
	f := r.Power / (r.Power + math.Max(0, sum))
	r.THDTotalU *= f
	r.Residual, r.ResidualU = sum, u
}

// coherentPower is the power of a harmonic that keeps step with the fundamental,
// from the mean of its turned-back amplitudes; one whose phase or size varies
// more than noise explains is taken by the mean of its powers.
func coherentPower(sum complex128, m moments, density, blockS, averages float64) (p, u float64) {
	n := float64(m.n)
	v1 := lineVariance * density / blockS
	mean := peakPower(sum / complex(n, 0)) // ½abs²
	if m.n >= 4 {
		scatter := (m.mean - mean) * n / (n - 1) // of each part of the amplitude
		if scatter > v1*(1+5/math.Sqrt(n))+1e-6*m.mean {
			return linePower(m, density, blockS, averages)
		}
	}
	v := density / (blockS * averages)
	p = mean - v
	return p, math.Sqrt(2*math.Max(0, p)*v + v*v)
}

// rootRatio is sqrt(sum/over) and its uncertainty: that of which 1.96 make the
// greater of the two ways to the roots of the ends of the 95 % interval of the
// sum, since near 0 the root is anything but straight.
func rootRatio(sum, u, over float64) (ratio, ratioU float64) {
	if !(over > 0) {
		return 0, 0
	}
	root := func(x float64) float64 { return math.Sqrt(math.Max(0, x) / over) }
	ratio = root(sum)
	const z = 1.96
	return ratio, math.Max(root(sum+z*u)-ratio, ratio-root(sum-z*u)) / z
}

// ratios fills what compares the tone with all the rest.
func (a *lineAnalysis) ratios(r *Tone) {
	rest := math.Max(0, r.Residual) + r.Noise
	variance := r.ResidualU*r.ResidualU + r.NoiseU*r.NoiseU
	if a.hum != nil {
		for _, h := range r.Hum.Harmonics {
			if h.InBand && h.Hz >= r.FromHz {
				rest += h.Power
				variance += h.PowerU * h.PowerU
			}
		}
	}
	r.Residual, r.ResidualU = rest, math.Sqrt(variance)
	total := r.Power + rest
	const db = 10 / math.Ln10
	r.SINADRadio = 10 * math.Log10(total/rest)
	r.SINADRadioU = db * r.Power / total * math.Hypot(r.ResidualU/rest, r.PowerU/r.Power)
	r.SINADConverter = 10 * math.Log10(r.Power/rest)
	r.SINADConverterU = db * math.Hypot(r.ResidualU/rest, r.PowerU/r.Power)
	r.THDNoise = math.Sqrt(rest / total)
	r.THDNoiseU = r.THDNoise / 2 * r.Power / total * math.Hypot(r.ResidualU/rest, r.PowerU/r.Power)
}

// frequency is the mean frequency: the slope of the phases of the longest run of
// blocks. For noise of density S the bound is var f = 3S/(2π² P T³) (Rife and
// Boorstyn, IEEE Trans. IT-20 (1974) 591, from memory); a parabola under the
// raised cosine squared gives up some of that.
func (t *toneTrack) frequency(density func(float64) float64, blockS, seconds float64) (hz, u float64) {
	r := longestRun(t.runs)
	hz = t.hz.mean
	span := blockS
	if n := float64(r.n); r.n > 1 {
		tt := r.tt - r.t*r.t/n
		slope := (r.tp - r.t*r.p/n) / tt
		hz = slope / (2 * math.Pi)
		span = r.lastS + 0.6*blockS
		if r.n > 3 {
			left := math.Max(0, r.pp-r.p*r.p/n-slope*slope*tt) / (n - 2)
			u = math.Sqrt(1.5*left/tt) / (2 * math.Pi)
		}
	}
	bound := math.Sqrt(3*density(hz)/(2*math.Pi*math.Pi*math.Max(t.level.mean, 1e-30)*span*span*span)) * phaseLoss(r.n)
	return hz, math.Max(u, bound)
}

// phaseLoss is by how much the scatter of the frequency exceeds the bound, by
// simulation: one block alone, or a line through many.
func phaseLoss(blocks int) float64 {
	if blocks <= 1 {
		return 2.2
	}
	return 1.25
}

// notes says what a reader should know.
func (a *lineAnalysis) notes(r *Tone) {
	if r.SwingDB > 0.5 && a.blocks > 3 {
		r.Notes = append(r.Notes, fmt.Sprintf("the level of the tone varies by %.1f dB (standard deviation from second to second)", r.SwingDB))
	}
	if left := float64(a.frames)/a.rate - float64(a.blocks-a.pairs)*a.blockS() - float64(a.pairs)*a.blockS()/2; left > 0.05*float64(a.frames)/a.rate && left > 0.5*a.blockS() {
		r.Notes = append(r.Notes, fmt.Sprintf("%.1f s of %.1f s lay in gaps or in stretches too short to use", left, float64(a.frames)/a.rate))
	}
	r.Notes = append(r.Notes, r.Hum.Blends...)
}
