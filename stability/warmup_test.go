package stability

import (
	"context"
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

func warmupCSV(t *testing.T) map[string][]float64 {
	t.Helper()
	f, err := os.Open("testdata/stability-warmup.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]float64{}
	for _, row := range rows[1:] {
		for j, name := range rows[0] {
			v, err := strconv.ParseFloat(row[j], 64)
			if err != nil {
				t.Fatal(err)
			}
			if name == "t_min" {
				v *= 60
			}
			out[name] = append(out[name], v)
		}
	}
	return out
}

func TestWarmUpPublished(t *testing.T) {
	d := warmupCSV(t)
	for _, name := range []string{"single_Hz", "two_same_end_Hz", "two_crossing_Hz", "single_plus_noise_Hz"} {
		w, err := FitWarmUp(context.Background(), d["t_min"], d[name], WarmUpOptions{})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s limit %.6f slope/h %.6f terms %+v sigma %.3g eff %.1f it %d cand %+v warn %v r=%d", name, w.LimitHz, w.SlopeHzPerS*3600, w.Terms, w.SigmaHz, w.Effective, w.Iterations, w.Candidates, w.Warnings, w.fitter.basis.r)
	}
	w, err := FitWarmUp(context.Background(), d["t_min"], d["single_plus_noise_Hz"], WarmUpOptions{Terms: []int{1}, NoLine: true, Loss: LeastSquares})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%f %v %+v %v", w.LimitHz, math.Sqrt(w.Cov[0][0]), w.Terms, w.SigmaHz)
	w, err = FitWarmUp(context.Background(), d["t_min"], d["two_same_end_Hz"], WarmUpOptions{Terms: []int{1}, NoLine: true, Loss: LeastSquares})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%f %v %+v %v", w.LimitHz, math.Sqrt(w.Cov[0][0]), w.Terms, w.Residuals[0])
}
