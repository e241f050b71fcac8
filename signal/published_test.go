package signal

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// publishedRows reads a table of testdata by its heading; see SOURCES.md.
func publishedRows(t *testing.T, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, rec := range records[1:] {
		row := map[string]string{}
		for i, name := range records[0] {
			row[name] = rec[i]
		}
		out = append(out, row)
	}
	if len(out) == 0 {
		t.Fatalf("%s is empty", file)
	}
	return out
}

// published is a number of a table.
func published(t *testing.T, row map[string]string, name string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[name], 64)
	if err != nil {
		t.Fatalf("column %s: %v", name, err)
	}
	return v
}

func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.9g, expected %.9g within %.3g", what, got, want, tol)
	}
}

// hiss is white noise of rms sigma from a seed.
func hiss(n int, sigma float64, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 7))
	x := make([]float64, n)
	for i := range x {
		x[i] = sigma * r.NormFloat64()
	}
	return x
}

// sine is n samples of a sine of peak a.
func sine(n int, rate, hz, a, phase float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = a * math.Sin(2*math.Pi*hz*float64(i)/rate+phase)
	}
	return x
}
