package stability

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The two standard data sets: NBS Monograph 140 annex 8.E, and NIST SP 1065
// (2008) pp. 107-108.
func adevNBS9() []float64 { return []float64{892, 809, 823, 798, 671, 644, 883, 903, 677} }

func adevLCG1000() []float64 {
	y := make([]float64, 1000)
	n := int64(1234567890)
	for i := range y {
		y[i] = float64(n) / 2147483647
		n = 16807 * n % 2147483647
	}
	return y
}

func TestGeneratorMatchesPublishedMembers(t *testing.T) {
	y := adevLCG1000()
	for i, want := range map[int]float64{2: 395529916, 3: 1209410747, 4: 633705974, 5: 1324899545,
		10: 941220560, 100: 1150222788, 500: 850434539, 1000: 1560135652} {
		if got := math.Round(y[i-1] * 2147483647); got != want {
			t.Errorf("n%d = %.0f, published %.0f", i, got, want)
		}
	}
}

func adevRows(t *testing.T, file string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = r[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func adevNumber(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

var adevColumns = map[string]Kind{"adev": KindAllan, "oadev": KindOverlappingAllan, "mdev": KindModifiedAllan,
	"tdev": KindTime, "hdev": KindHadamard, "ohdev": KindOverlappingHadamard, "totdev": KindTotal,
	"mtotdev_biascorr": KindModifiedTotal, "ttotdev_biascorr": KindTimeTotal, "htotdev_biascorr": KindHadamardTotal}

func adevWithin(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s = %.10g, published %.10g, apart by %.2g, allowed %.2g", what, got, want, math.Abs(got/want-1), tol)
	}
}

func adevPhase(t testing.TB, y []float64, tau0S float64) Phase {
	t.Helper()
	p, err := FromFrequency(y, tau0S)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Every row of both published tables.
func TestPublishedDeviations(t *testing.T) {
	sets := map[string][]float64{"NBS9": adevNBS9(), "LCG1000": adevLCG1000()}
	checked := 0
	for _, row := range adevRows(t, "stability-nbs14.csv") {
		y, stat, m := sets[row["dataset"]], row["statistic"], int(adevNumber(t, row["m"]))
		what := row["dataset"] + " " + stat + " m=" + row["m"]
		var got float64
		if kind, ok := adevColumns[stat]; ok {
			d, err := Deviations(kind, adevPhase(t, y, 1), m)
			if err != nil {
				t.Fatal(what, err)
			}
			if d[0].Noise != WhiteFM {
				t.Errorf("%s: noise %v; the published bias corrections are for white frequency noise", what, d[0].Noise)
			}
			if row["terms"] != "" && d[0].N != int(adevNumber(t, row["terms"])) {
				t.Errorf("%s: %d terms, expected %s", what, d[0].N, row["terms"])
			}
			got = d[0].Value
		} else {
			got = adevStatistic(t, stat, adevAverage(y, m))
		}
		if row["published"] != "" {
			adevWithin(t, what, got, adevNumber(t, row["published"]), 1e-6)
		}
		adevWithin(t, what, got, adevNumber(t, row["computed"]), 1e-9)
		checked++
	}
	if checked != 95 {
		t.Errorf("only %d rows found", checked)
	}
}

// Every value of the octave table.
func TestPublishedOctaves(t *testing.T) {
	p := adevPhase(t, adevLCG1000(), 1)
	for _, row := range adevRows(t, "stability-lcg1000-octave.csv") {
		m := int(adevNumber(t, row["m"]))
		for _, stat := range []string{"adev", "oadev", "mdev", "tdev", "hdev", "ohdev", "totdev"} {
			d, err := Deviations(adevColumns[stat], p, m)
			if err != nil {
				t.Fatal(err)
			}
			adevWithin(t, stat+" m="+row["m"], d[0].Value, adevNumber(t, row[stat]), 1e-8)
		}
	}
}

// The octave lists end where the published ones do.
func TestOctavesOfPublishedTables(t *testing.T) {
	p := adevPhase(t, adevLCG1000(), 1)
	for kind, last := range map[Kind]int{KindAllan: 128, KindOverlappingAllan: 128, KindModifiedAllan: 128,
		KindTime: 128, KindHadamard: 128, KindOverlappingHadamard: 128, KindTotal: 256} {
		octaves := Octaves(p, kind)
		if got := octaves[len(octaves)-1]; got != last {
			t.Errorf("%v: last octave %d, published table ends at %d", kind, got, last)
		}
	}
}

// The 57 published intervals, and the exact degrees of freedom behind them.
//
// Those of the total deviation were made with a fit for long tau used at every
// tau: at m = 1, where the total deviation is the overlapping one, its published
// interval is narrower than that of the very same number beside it. The rows
// hold the fit and the limits made from it; the interval given to a user has
// never more degrees of freedom than that, and the same at the long tau.
func TestPublishedIntervals(t *testing.T) {
	p, white := adevPhase(t, adevLCG1000(), 1), WhiteFM
	rows := adevRows(t, "stability-ci.csv")
	if len(rows) != 57 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, row := range rows {
		what := row["statistic"] + " m=" + row["m"]
		all, err := DeviationsOf(p, DeviationOptions{Kinds: []Kind{adevColumns[row["statistic"]]},
			Factors: []int{int(adevNumber(t, row["m"]))}, Level: math.Erf(math.Sqrt(0.5)), Noise: &white})
		if err != nil {
			t.Fatal(err)
		}
		d := all[0][0]
		if d.Kind == KindTotal {
			fitted := edfTotalFit(WhiteFM, float64(p.Points())/float64(d.M))
			if d.EDF > fitted || d.M >= 64 && d.EDF != fitted {
				t.Errorf("%s: %g degrees of freedom, fit %g", what, d.EDF, fitted)
			}
			d.EDF = fitted
			d.Lo, d.Hi = chiSquaredLimits(d.Value, d.EDF, d.Level)
		}
		adevWithin(t, what+" low", d.Lo, adevNumber(t, row["published_low"]), 3e-3)
		adevWithin(t, what+" high", d.Hi, adevNumber(t, row["published_high"]), 3e-3)
		adevWithin(t, what+" low (exact)", d.Lo, adevNumber(t, row["computed_low"]), 1e-4)
		adevWithin(t, what+" high (exact)", d.Hi, adevNumber(t, row["computed_high"]), 1e-4)
		adevWithin(t, what+" edf", d.EDF, adevNumber(t, row["edf_used"]), 2e-4)
		if strconv.Itoa(d.N) != row["terms"] {
			t.Errorf("%s: %d terms, published %s", what, d.N, row["terms"])
		}
	}
}

// adevAverage is y averaged over consecutive groups of m, the remainder dropped.
func adevAverage(y []float64, m int) []float64 {
	var out []float64
	for i := 0; i+m <= len(y); i += m {
		sum := 0.0
		for _, v := range y[i : i+m] {
			sum += v
		}
		out = append(out, sum/float64(m))
	}
	return out
}

// adevStatistic are the plain statistics of the same tables. They check that
// the data sets are the published ones.
func adevStatistic(t *testing.T, name string, y []float64) float64 {
	t.Helper()
	n := float64(len(y))
	mean, sorted := 0.0, slices.Sorted(slices.Values(y))
	for _, v := range y {
		mean += v / n
	}
	var s2, stt, sty float64
	for i, v := range y {
		k := float64(i+1) - (n+1)/2
		s2, stt, sty = s2+(v-mean)*(v-mean), stt+k*k, sty+k*v
	}
	half := len(y) / 2
	switch strings.TrimSuffix(name, "_per_point") {
	case "stdev":
		return math.Sqrt(s2 / (n - 1))
	case "max":
		return sorted[len(y)-1]
	case "min":
		return sorted[0]
	case "mean":
		return mean
	case "median":
		return (sorted[half] + sorted[(len(y)-1)/2]) / 2
	case "linear_slope":
		return sty / stt
	case "linear_intercept_at_point0":
		return mean - sty/stt*(n+1)/2
	case "first_difference_slope":
		return (y[len(y)-1] - y[0]) / (n - 1)
	case "bisection_slope":
		d := 0.0
		for i := range half {
			d += (y[len(y)-1-i] - y[i]) / float64(half)
		}
		return d / float64((len(y)+1)/2)
	}
	t.Fatalf("statistic %q is not known", name)
	return 0
}
