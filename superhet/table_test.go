package superhet

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// rows reads a table of testdata; each row maps heading to cell.
func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, cell := range line {
			row[all[0][i]] = cell
		}
		out = append(out, row)
	}
	if len(out) == 0 {
		t.Fatalf("%s holds no rows", name)
	}
	return out
}

func number(t *testing.T, row map[string]string, name string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[name], 64)
	if err != nil {
		t.Fatalf("column %s: %v", name, err)
	}
	return x
}

// printed checks a number against the text it was printed as, to half a unit of
// its last digit.
func printed(t *testing.T, row map[string]string, name string, got float64) {
	t.Helper()
	text := row[name]
	want := number(t, row, name)
	mantissa, exponent, _ := strings.Cut(strings.ToLower(text), "e")
	digits := 0
	if _, after, ok := strings.Cut(mantissa, "."); ok {
		digits = len(after)
	}
	exp, _ := strconv.Atoi(exponent)
	if tol := 0.5001 * math.Pow(10, float64(exp-digits)); math.Abs(got-want) > tol {
		t.Errorf("%v: %s is %g, printed %s", row, name, got, text)
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.6g, expected %g ± %g", what, got, want, tol)
	}
}
