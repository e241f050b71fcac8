package signal

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"testing"
)

// Half of the last digit printed, and a little for rows rounded from a half.
const tableDigit = 0.0505

func TestWeightingsAAndCAsPublished(t *testing.T) {
	for _, row := range publishedRows(t, "weighting-a-c.csv") {
		hz := published(t, row, "exact_hz")
		within(t, fmt.Sprintf("A at %g Hz", hz), WeightA.DB(hz), published(t, row, "a_db_table"), tableDigit)
		within(t, fmt.Sprintf("C at %g Hz", hz), WeightC.DB(hz), published(t, row, "c_db_table"), tableDigit)
		within(t, fmt.Sprintf("A at %g Hz, formula", hz), WeightA.DB(hz), published(t, row, "a_db_formula"), 1e-4)
		within(t, fmt.Sprintf("C at %g Hz, formula", hz), WeightC.DB(hz), published(t, row, "c_db_formula"), 1e-4)
	}
	// The table's values belong to its exact frequencies, not to the nominal.
	within(t, "A at 12.5 Hz", WeightA.DB(12.5), -63.58, 0.02)
	within(t, "A at 16 Hz", WeightA.DB(16), -56.42, 0.02)
}

func TestWeighting468AsPublished(t *testing.T) {
	for _, row := range publishedRows(t, "weighting-bs468.csv") {
		hz := published(t, row, "frequency_hz")
		within(t, fmt.Sprintf("%g Hz", hz), Weight468.DB(hz), published(t, row, "response_db"), 0.051)
		within(t, fmt.Sprintf("%g Hz, network", hz), Weight468.DB(hz), published(t, row, "network_poles_db"), 1e-4)
	}
}

func telephoneRows(t *testing.T, each func(w Weighting, hz, db, tol float64)) {
	curves := map[string]Weighting{"psophometric-O41": WeightO41, "c-message": WeightCMessage}
	for _, row := range publishedRows(t, "weighting-telephone.csv") {
		db, err := strconv.ParseFloat(row["weight_db"], 64)
		if err != nil {
			continue // "<-28.7" is a bound
		}
		tol := math.NaN()
		if row["tolerance_db"] != "" {
			tol = published(t, row, "tolerance_db")
		}
		each(curves[row["curve"]], published(t, row, "frequency_hz"), db, tol)
	}
}

func TestTelephoneWeightingsAsPublished(t *testing.T) {
	telephoneRows(t, func(w Weighting, hz, db, _ float64) {
		within(t, fmt.Sprintf("%s at %g Hz", w, hz), w.DB(hz), db, 1e-9)
	})
	if d := WeightCMessage.DB(5000); d > -28.7 {
		t.Errorf("C-message at 5 kHz %v dB, expected -28.7 or less", d)
	}
}

// White noise, weighted less unweighted, by band (recomputed; the handbook
// figure for O.41 in 300 to 3400 Hz is −2.5 dB).
func TestWeightedWhiteNoise(t *testing.T) {
	flat := &Spectrum{RateHz: 48000, Segment: 48000, Density: make([]float64, 24001), Effective: 100}
	for i := range flat.Density {
		flat.Density[i] = 1
	}
	for _, c := range []struct {
		w          Weighting
		from, to   float64
		difference float64
	}{
		{WeightO41, 300, 3400, -2.51}, {WeightO41, 300, 3000, -2.12}, {WeightA, 20, 20000, -2.05}, {WeightA, 300, 3400, 0.55},
		{Weight468, 20, 20000, 7.30}, {Weight468, 300, 3400, 5.58},
	} {
		with, _ := flat.WeightedBand(c.w, c.from, c.to)
		without, _ := flat.BandPower(c.from, c.to)
		within(t, fmt.Sprintf("%s, %g to %g Hz", c.w, c.from, c.to), 10*math.Log10(with/without), c.difference, 0.01)
	}
}

var filterRates = []float64{8000, 11025, 16000, 22050, 32000, 44100, 48000, 96000, 192000}

// The sampled filters against the tables, up to 0.45 of the rate.
func TestWeightingFiltersAsPublished(t *testing.T) {
	for _, rate := range filterRates {
		a, c := weightingFilter(t, WeightA, rate), weightingFilter(t, WeightC, rate)
		for _, row := range publishedRows(t, "weighting-a-c.csv") {
			hz := published(t, row, "exact_hz")
			if hz > 0.45*rate || hz < 20 {
				continue
			}
			plus, minus := published(t, row, "class1_plus"), published(t, row, "class1_minus")
			inside(t, fmt.Sprintf("A at %g Hz of %g", hz, rate), a.DB(hz)-published(t, row, "a_db_table"), minus, plus)
			inside(t, fmt.Sprintf("C at %g Hz of %g", hz, rate), c.DB(hz)-published(t, row, "c_db_table"), minus, plus)
		}
		f := weightingFilter(t, Weight468, rate)
		for _, row := range publishedRows(t, "weighting-bs468.csv") {
			hz := published(t, row, "frequency_hz")
			if hz > min(20000, 0.45*rate) {
				continue
			}
			tol := max(0.1, published(t, row, "tolerance_db"))
			within(t, fmt.Sprintf("BS.468 at %g Hz of %g", hz, rate), f.DB(hz), published(t, row, "response_db"), tol)
		}
		o41, cm := weightingFilter(t, WeightO41, rate), weightingFilter(t, WeightCMessage, rate)
		telephoneRows(t, func(w Weighting, hz, db, tol float64) {
			f := o41
			if w == WeightCMessage {
				f = cm
			}
			if hz > 0.45*rate || math.IsNaN(tol) {
				return
			}
			within(t, fmt.Sprintf("%s at %g Hz of %g", w, hz, rate), f.DB(hz), db, max(tol, 1e-9))
		})
	}
}

func inside(t *testing.T, what string, difference, minus, plus float64) {
	t.Helper()
	if difference < minus || difference > plus {
		t.Errorf("%s: off by %.3f dB, limits %+g and %+g", what, difference, minus, plus)
	}
}

// fits are the greatest differences a filter may state, by weighting.
var fits = map[Weighting]float64{WeightA: 0.2, WeightC: 0.3, Weight468: 0.15, WeightO41: 0.7, WeightCMessage: 0.7}

// weightingFilter makes a filter once a rate and checks what it says of itself.
func weightingFilter(t *testing.T, w Weighting, rate float64) *Filter {
	t.Helper()
	f, err := NewFilter(w, rate)
	if err != nil {
		t.Fatal(err)
	}
	if f.FitDB > fits[w] {
		t.Errorf("%s at %g samples a second fits within %.3f dB, expected %g", w, rate, f.FitDB, fits[w])
	}
	for _, b := range f.Sections {
		if math.Abs(b.A2) >= 1 || math.Abs(b.A1) >= 1+b.A2 {
			t.Errorf("%s at %g samples a second is not stable: %+v", w, rate, b)
		}
	}
	return f
}

// Noise through the filter has the power that its spectrum has under the curve.
func TestWeightedLevelIsWeightedSpectrum(t *testing.T) {
	x := hiss(20*16000, 0.1, 1)
	s, err := Welch(context.Background(), FromSlice(16000, x), SpectrumOptions{Segment: 4096}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []Weighting{WeightA, WeightO41} {
		l, err := MeasureLevel(context.Background(), FromSlice(16000, x), LevelOptions{Weighting: w}, nil)
		if err != nil {
			t.Fatal(err)
		}
		power, _ := s.Weighted(w)
		within(t, w.String(), 20*math.Log10(l.RMS)-10*math.Log10(power), 0, 0.1)
	}
}

func TestNewFilterRefuses(t *testing.T) {
	for _, try := range []struct {
		w    Weighting
		rate float64
	}{{WeightA, 0}, {WeightA, 100}, {Weighting(99), 48000}, {WeightA, math.NaN()}} {
		if _, err := NewFilter(try.w, try.rate); err == nil {
			t.Errorf("%v at %v was made", try.w, try.rate)
		}
	}
}
