package workshop

import (
	"strings"
	"testing"

	"setwright/internal/run"
)

// TestSpectraWords: of two spectra the band is told that differs most of those
// that are certain; a great difference that chance explains is passed over, and
// so is one band of twenty just outside its own interval.
func TestSpectraWords(t *testing.T) {
	recs := [2]run.Recording{{Name: "before.wav"}, {Name: "after.wav"}}
	words := func(diff, u []float64) string {
		var hz, lo, hi []float64
		for i, d := range diff {
			hz = append(hz, 100*float64(i+1))
			lo, hi = append(lo, d-1.96*u[i]), append(hi, d+1.96*u[i])
		}
		return strings.Join(spectraWords(recs, hz, diff, lo, hi), " ")
	}
	if got := words([]float64{6, -2}, []float64{5, 0.1}); !strings.Contains(got, "around 200 Hz: after.wav is weaker there by 2 dB") {
		t.Error(got)
	}
	diff, u := make([]float64, 20), make([]float64, 20)
	for i := range u {
		u[i] = 1
	}
	diff[7] = 2.1
	if got := words(diff, u); !strings.HasPrefix(got, "No band") {
		t.Error(got)
	}
	diff[7] = -4
	if got := words(diff, u); !strings.Contains(got, "around 800 Hz: after.wav is weaker there by 4 dB (95 %: 2 dB to 6 dB)") {
		t.Error(got)
	}
}
