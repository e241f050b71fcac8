package signal

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestKWeightingCoefficientsAsPublished(t *testing.T) {
	for _, row := range publishedRows(t, "kweighting-coefficients.csv") {
		rate := published(t, row, "fs_hz")
		shelf, pass := kWeighting(rate)
		for name, got := range map[string]float64{
			"shelf_b0": shelf.B0, "shelf_b1": shelf.B1, "shelf_b2": shelf.B2, "shelf_a1": shelf.A1, "shelf_a2": shelf.A2,
			"hp_b0": pass.B0, "hp_b1": pass.B1, "hp_b2": pass.B2, "hp_a1": pass.A1, "hp_a2": pass.A2,
		} {
			want := published(t, row, name)
			within(t, fmt.Sprintf("%s at %g Hz", name, rate), got, want, 1e-14*math.Abs(want)+1e-14)
		}
	}
}

func TestKWeightingResponseAsPublished(t *testing.T) {
	for _, row := range publishedRows(t, "kweighting-response.csv") {
		hz := published(t, row, "frequency_hz")
		for name, rate := range map[string]float64{"gain_db_48k_published": 48000, "gain_db_44k1_libebur128": 44100} {
			shelf, pass := kWeighting(rate)
			within(t, fmt.Sprintf("%s at %g Hz", name, hz), newFilter(rate, shelf, pass).DB(hz), published(t, row, name), 1e-4)
		}
	}
}

// The fused loop is the two sections one after the other, however it is cut.
func TestKMeterIsItsSections(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]float64{8000, 44100, 192000}).Draw(t, "rate")
		x := hiss(rapid.IntRange(1, 3000).Draw(t, "n"), 1, rapid.Uint64().Draw(t, "seed"))
		shelf, pass := kWeighting(rate)
		y := append([]float64(nil), x...)
		newFilter(rate, shelf, pass).Process(y)
		k, sum := newKMeter(rate), 0.0
		for len(x) > 0 {
			n := rapid.IntRange(1, len(x)).Draw(t, "cut")
			sum += k.squares(x[:n])
			x = x[n:]
		}
		if want := sumSquares(y); math.Abs(sum-want) > 1e-9*want {
			t.Fatalf("sum of squares %v, expected %v", sum, want)
		}
	})
}

// kiloTones is a source of many channels: parts of a tone of 1 kHz in phase, one
// running phase through level changes, levels as peak dBFS of each channel.
type tonePart struct {
	seconds float64
	levels  []float64 // of the channels; one: of both of two
}

func kiloTones(rate float64, parts ...tonePart) *frames {
	out := &frames{rate: rate, channels: 2}
	at := 0
	for _, p := range parts {
		levels := p.levels
		if len(levels) == 1 {
			levels = []float64{levels[0], levels[0]}
		}
		out.channels = len(levels)
		gains := make([]float64, len(levels))
		for i, l := range levels {
			gains[i] = math.Pow(10, l/20)
		}
		for range int(math.Round(p.seconds * rate)) {
			s := math.Sin(2 * math.Pi * 1000 * float64(at) / rate)
			for _, g := range gains {
				out.x = append(out.x, s*g)
			}
			at++
		}
	}
	return out
}

// frames is a source of many channels held in memory.
type frames struct {
	rate     float64
	channels int
	x        []float64
	at       int
}

func (f *frames) Rate() float64 { return f.rate }
func (f *frames) Channels() int { return f.channels }
func (f *frames) Read(dst []float64) (int, error) {
	n := min(len(dst), len(f.x)-f.at) / f.channels
	if n == 0 {
		return 0, io.EOF
	}
	copy(dst, f.x[f.at:f.at+n*f.channels])
	f.at += n * f.channels
	return n, nil
}

func loudnessOf(t testing.TB, src Source, o LoudnessOptions) Loudness {
	t.Helper()
	l, err := MeasureLoudness(context.Background(), src, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

var silence = math.Inf(-1)

func part(seconds float64, levels ...float64) tonePart { return tonePart{seconds, levels} }

// loudnessSignals are the cases of EBU Tech 3341 and 3342 that are tones, by the
// first column of loudness-cases.csv.
var loudnessSignals = map[string][]tonePart{
	"3341-1":        {part(20, -23)},
	"3341-2":        {part(20, -33)},
	"3341-3":        {part(10, -36), part(60, -23), part(10, -36)},
	"3341-4":        {part(10, -72), part(10, -36), part(60, -23), part(10, -36), part(10, -72)},
	"3341-5":        {part(20, -26), part(20.1, -20), part(20, -26)},
	"3341-6":        {part(20, -28, -28, -24, -30, -30)},
	"3341-s2.9":     {part(20, -18)},
	"3342-1":        {part(20, -20), part(20, -30)},
	"3342-2":        {part(20, -20), part(20, -15)},
	"3342-3":        {part(20, -40), part(20, -20)},
	"3342-4":        {part(20, -50), part(20, -35), part(20, -20), part(20, -35), part(20, -50)},
	"trap-20-20-20": {part(20, -36), part(20, -23), part(20, -36)},
}

func TestLoudnessCasesAsPublished(t *testing.T) {
	seen := 0
	for _, row := range publishedRows(t, "loudness-cases.csv") {
		parts, ok := loudnessSignals[row["case"]]
		if !ok {
			continue
		}
		seen++
		t.Run(row["case"], func(t *testing.T) {
			l := loudnessOf(t, kiloTones(48000, parts...), LoudnessOptions{})
			want := published(t, row, "expected")
			if row["quantity"] == "LRA LU" {
				within(t, "range", l.Range, want, published(t, row, "tolerance"))
				within(t, "range by libebur128", l.Range, published(t, row, "libebur128_1_2_6"), 0.001)
				return
			}
			tol := 0.01
			if row["tolerance"] != "(computed)" {
				tol = published(t, row, "tolerance")
			}
			within(t, "integrated", l.Integrated, want, tol)
			if row["libebur128_1_2_6"] != "" {
				within(t, "integrated by libebur128", l.Integrated, published(t, row, "libebur128_1_2_6"), 0.0001)
			}
			if row["quantity"] == "M,S,I" {
				within(t, "momentary", l.MaxMomentary, want, 0.1)
				within(t, "short-term", l.MaxShortTerm, want, 0.1)
			}
		})
	}
	if seen != len(loudnessSignals) {
		t.Errorf("%d cases of the table tested, expected %d", seen, len(loudnessSignals))
	}
}

// The first case at other rates, by libebur128, whose high-pass gain at low
// rates we follow (see kWeighting).
func TestLoudnessAtOtherRates(t *testing.T) {
	for rate, want := range map[float64]float64{8000: -22.9804, 16000: -22.9533, 32000: -22.9789, 44100: -22.9905, 96000: -23.0106} {
		l := loudnessOf(t, kiloTones(rate, part(20, -23)), LoudnessOptions{})
		within(t, fmt.Sprintf("integrated at %g Hz", rate), l.Integrated, want, 0.0001)
	}
}

// Cases 9 and 12: constant short-term and momentary loudness of a pattern that
// repeats within the window.
func TestLoudnessPatterns(t *testing.T) {
	var nine, twelve []tonePart
	for range 5 {
		nine = append(nine, part(1.34, -20), part(1.66, -30))
	}
	for range 25 {
		twelve = append(twelve, part(0.18, -20), part(0.22, -30))
	}
	within(t, "case 9, short-term", loudnessOf(t, kiloTones(48000, nine...), LoudnessOptions{}).MaxShortTerm, -23, 0.1)
	within(t, "case 12, momentary", loudnessOf(t, kiloTones(48000, twelve...), LoudnessOptions{}).MaxMomentary, -23, 0.1)
}

// Cases 10 and 13: a burst of one window's length after silence of any length;
// windows every 100 ms would read case 13 0.45 dB low.
func TestLoudnessBursts(t *testing.T) {
	for i := range 20 {
		short := kiloTones(48000, part(float64(i)*0.15, silence), part(3, -23), part(1, silence))
		within(t, fmt.Sprintf("case 10, file %d", i), loudnessOf(t, short, LoudnessOptions{}).MaxShortTerm, -23, 0.1)
		burst := kiloTones(48000, part(float64(i)*0.02, silence), part(0.4, -23), part(1, silence))
		within(t, fmt.Sprintf("case 13, file %d", i), loudnessOf(t, burst, LoudnessOptions{}).MaxMomentary, -23, 0.1)
	}
}

// Cases 11 and 14 rise by 1 dB a burst; the greatest so far is the last one's.
func TestLoudnessRisingBursts(t *testing.T) {
	for _, last := range []int{0, 7, 19} {
		var eleven, fourteen []tonePart
		for i := range last + 1 {
			f := float64(i)
			eleven = append(eleven, part(f*0.15, silence), part(3, -38+f), part(3-f*0.15, silence))
			fourteen = append(fourteen, part(f*0.02, silence), part(0.4, -38+f), part(0.4-f*0.02, silence))
		}
		want := -38 + float64(last)
		within(t, "case 11", loudnessOf(t, kiloTones(48000, eleven...), LoudnessOptions{}).MaxShortTerm, want, 0.1)
		within(t, "case 14", loudnessOf(t, kiloTones(48000, fourteen...), LoudnessOptions{}).MaxMomentary, want, 0.1)
	}
}

// One channel reads 3.01 LU below two with the same sound, unless told that it
// will be heard from two loudspeakers (published: −26.004 and −22.993).
func TestLoudnessOfOneChannel(t *testing.T) {
	one := func() Source { return kiloTones(48000, part(20, -23, -23)).left() }
	within(t, "one channel", loudnessOf(t, one(), LoudnessOptions{}).Integrated, -26.004, 0.001)
	within(t, "dual mono", loudnessOf(t, one(), LoudnessOptions{DualMono: true}).Integrated, -22.993, 0.001)
	within(t, "one of two silent", loudnessOf(t, kiloTones(48000, part(20, -23, silence)), LoudnessOptions{}).Integrated, -26.004, 0.001)
	// 997 Hz at full scale in one channel reads −3.01 LKFS (BS.1770).
	x := sine(10*48000, 48000, 997, 1, 0)
	within(t, "997 Hz", loudnessOf(t, FromSlice(48000, x), LoudnessOptions{}).Integrated, -3.01, 0.001)
}

func (f *frames) left() Source {
	x := make([]float64, 0, len(f.x)/f.channels)
	for i := 0; i < len(f.x); i += f.channels {
		x = append(x, f.x[i])
	}
	return FromSlice(f.rate, x)
}

// White noise of rms −23 dBFS in one channel: −19.862 LUFS (theory), allowing
// for the scatter of 20 s. Full scale here is that of peak 1, as in the source.
func TestLoudnessOfWhiteNoise(t *testing.T) {
	x := hiss(20*48000, math.Pow(10, -23.0/20), 1)
	within(t, "white noise", loudnessOf(t, FromSlice(48000, x), LoudnessOptions{}).Integrated, -19.862, 0.03)
}

// Too short or too soft: no value, not a number.
func TestLoudnessThatDoesNotExist(t *testing.T) {
	short := loudnessOf(t, kiloTones(48000, part(0.3, -23)), LoudnessOptions{})
	if short.HasIntegrated || short.HasMomentary || short.HasRange || short.HasShortTerm {
		t.Errorf("0.3 s has a loudness: %+v", short)
	}
	if loudnessOf(t, kiloTones(48000, part(5, -70.3)), LoudnessOptions{}).HasIntegrated {
		t.Error("a tone at -70.3 is not gated")
	}
	if !loudnessOf(t, kiloTones(48000, part(5, -69.7)), LoudnessOptions{}).HasIntegrated {
		t.Error("a tone at -69.7 is gated")
	}
	bad := kiloTones(48000, part(2, -23))
	bad.x[2*70000+1] = math.NaN()
	if _, err := MeasureLoudness(context.Background(), bad, LoudnessOptions{}, nil); err == nil || !strings.Contains(err.Error(), "frame 70000 is NaN") {
		t.Errorf("a sample that is no number: %v", err)
	}
	for _, src := range []Source{FromSlice(100, make([]float64, 10)), FromSlice(48000, nil), nil, &frames{rate: 48000, channels: 7, x: make([]float64, 70)}} {
		if _, err := MeasureLoudness(context.Background(), src, LoudnessOptions{}, nil); err == nil {
			t.Error("loudness of what has none")
		}
	}
}
