package workshop

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/signal"

	"gonum.org/v1/gonum/stat/distuv"
)

// RecordingItem is a recording of the book: the n-th of a run.
type RecordingItem struct {
	Set receiver.Set
	Run run.Run
	N   int
}

// Recordings lists the recordings of all runs that are not hidden.
func (s *Shop) Recordings(ctx context.Context) ([]RecordingItem, error) {
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return nil, err
	}
	var out []RecordingItem
	for _, item := range shelf {
		v, err := s.SetView(ctx, item.Set.ID, false)
		if err != nil {
			return nil, err
		}
		for _, st := range v.States {
			for _, r := range st.Runs {
				for n := range r.Run.Recordings {
					out = append(out, RecordingItem{item.Set, r.Run, n})
				}
			}
		}
	}
	return out, nil
}

// SoundName names the n-th recording of a run, from 0: "turnstone-audio-2024-02-03:1".
func SoundName(runID string, n int) string { return fmt.Sprintf("%s:%d", runID, n+1) }

// soundNamed finds a recording by its name.
func (s *Shop) soundNamed(ctx context.Context, name string) (run.Run, run.Recording, error) {
	id, number, _ := strings.Cut(name, ":")
	n, err := strconv.Atoi(number)
	if err != nil {
		return run.Run{}, run.Recording{}, fmt.Errorf("recording %q: expected the run and the number of the recording, such as turnstone-audio-2024-02-03:1", name)
	}
	r, err := s.Book.Run(ctx, id)
	if err != nil {
		return r, run.Recording{}, err
	}
	rec, err := s.RecordingOf(ctx, id, n-1)
	return r, rec, err
}

// SpectraView is two spectra over each other.
type SpectraView struct {
	Sentences        []string
	Warnings         []string
	Both, Difference measure.Plot
}

// CompareSpectra lays the spectra of two recordings over each other, and shows
// their difference with what is statistically certain of it.
func (s *Shop) CompareSpectra(ctx context.Context, a, b string, progress func(float64)) (SpectraView, error) {
	defer spareMemory()()
	if progress == nil {
		progress = func(float64) {}
	}
	var v SpectraView
	var recs [2]run.Recording
	var spectra [2]*signal.Spectrum
	for i, name := range []string{a, b} {
		_, rec, err := s.soundNamed(ctx, name)
		if err != nil {
			return v, err
		}
		recs[i] = rec
	}
	for i, rec := range recs {
		var err error
		if spectra[i], err = s.spectrumAlike(ctx, rec, recs, func(x float64) { progress((float64(i) + x) / 2) }); err != nil {
			return v, err
		}
		for _, w := range RecordingWarnings(rec) {
			v.Warnings = append(v.Warnings, rec.Name+": "+w)
		}
	}
	v.draw(recs, spectra)
	return v, nil
}

// spectrumAlike makes the spectrum of one of two recordings with lines as far
// apart as the other's will be.
func (s *Shop) spectrumAlike(ctx context.Context, rec run.Recording, both [2]run.Recording, progress func(float64)) (*signal.Spectrum, error) {
	seconds := math.Min(float64(lookSegment(both[0]))/both[0].RateHz, float64(lookSegment(both[1]))/both[1].RateHz)
	sound := seen(rec, s.stored(rec))
	src, err := sound.Open(ctx)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	return signal.Welch(ctx, src, signal.SpectrumOptions{Segment: int(seconds * rec.RateHz), Gaps: sound.Gaps(), Frames: rec.Frames}, progress)
}

// draw makes the pictures and the sentences.
func (v *SpectraView) draw(recs [2]run.Recording, spectra [2]*signal.Spectrum) {
	v.Both = spectrumPlot(spectra[0], recs[0])
	v.Both.Title, v.Both.Layers = "Both", nil
	v.Both.Caption += " The scales of two recordings can be compared only where both were made at one setting of the sound input."
	top := math.Min(lookTop(recs[0]), lookTop(recs[1]))
	for i, side := range []string{measure.SideA, measure.SideB} {
		x, y := densityCurve(spectra[i], recs[i])
		v.Both.Layers = append(v.Both.Layers, measure.Layer{Kind: measure.LayerLine, Side: side, Label: recs[i].Name, X: x, Y: y})
	}
	x, d, lo, hi := thirds(spectra, top)
	v.Difference = measure.Plot{ID: "difference", Title: "Second less first, in thirds of an octave",
		Caption: "Level of the second recording less that of the first, each band with its 95 % interval.",
		Alt:     "Difference of the two spectra over frequency.",
		X:       measure.Axis{Label: "frequency", Unit: "Hz", Log: true}, Y: measure.Axis{Label: "difference", Unit: "dB"},
		Layers: []measure.Layer{{Kind: measure.LayerBars, X: x, Y: d, Lo: lo, Hi: hi}}}
	v.Sentences = spectraWords(recs, x, d, lo, hi)
}

// thirds is the difference of two spectra in dB in bands of a third of an
// octave, with its 95 % interval.
func thirds(spectra [2]*signal.Spectrum, top float64) (hz, diff, lo, hi []float64) {
	for f := 50.0; f*math.Pow(2, 1.0/6) <= top; f *= math.Pow(2, 1.0/3) {
		from, to := f*math.Pow(2, -1.0/6), f*math.Pow(2, 1.0/6)
		pa, ua := spectra[0].BandPower(from, to)
		pb, ub := spectra[1].BandPower(from, to)
		if pa <= 0 || pb <= 0 {
			continue
		}
		d := 10 * math.Log10(pb/pa)
		u := 10 / math.Ln10 * math.Hypot(ua/pa, ub/pb)
		hz, diff = append(hz, f), append(diff, d)
		lo, hi = append(lo, d-1.96*u), append(hi, d+1.96*u)
	}
	return hz, diff, lo, hi
}

// farthest is the band with the greatest difference of those that are certain,
// all bands judged at once: each at 5 % over their number (Bonferroni). It is
// −1 where none is.
func farthest(diff, hi []float64) int {
	wide := distuv.UnitNormal.Quantile(1-0.025/float64(len(diff))) / 1.96
	most := -1
	for i, d := range diff {
		if math.Abs(d) > wide*(hi[i]-d) && (most < 0 || math.Abs(d) > math.Abs(diff[most])) {
			most = i
		}
	}
	return most
}

// spectraWords says where the two differ most, and only where that is certain.
func spectraWords(recs [2]run.Recording, hz, diff, lo, hi []float64) []string {
	if len(hz) == 0 {
		return []string{"The two have no band in common in which both hold anything."}
	}
	most := farthest(diff, hi)
	if most < 0 {
		return []string{"No band of a third of an octave differs by more than chance allows."}
	}
	word := "stronger"
	if diff[most] < 0 {
		word = "weaker"
	}
	return []string{fmt.Sprintf("They differ most around %s: %s is %s there by %s (95 %%: %s to %s).", printer.Told(hz[most], "Hz", 2), recs[1].Name, word,
		printer.Told(math.Abs(diff[most]), "dB", 2), printer.Told(math.Min(math.Abs(lo[most]), math.Abs(hi[most])), "dB", 2), printer.Told(math.Max(math.Abs(lo[most]), math.Abs(hi[most])), "dB", 2))}
}
