package stability

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A logger whose clock wavers, with a pause while the owner had lunch.
func TestEvenlyFindsTheGaps(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var times []float64
	var want []int
	for i := range 400 {
		if i >= 100 && i < 137 || i == 250 {
			continue
		}
		times = append(times, 2.5*float64(i)+0.2*r.Float64())
		want = append(want, i)
	}
	tau0, index, err := Evenly(times)
	if err != nil {
		t.Fatal(err)
	}
	adevWithin(t, "spacing", tau0, 2.5, 1e-3)
	for i := range want {
		if index[i] != want[i] {
			t.Fatalf("reading %d put at place %d, expected %d", i+1, index[i], want[i])
		}
	}
}

// A clock that prints whole seconds, a counter that reads every 2.5 s.
func TestEvenlyWithCoarseStamps(t *testing.T) {
	var times []float64
	for i := range 200 {
		times = append(times, math.Floor(2.5*float64(i)))
	}
	tau0, index, err := Evenly(times)
	if err != nil || index[199] != 199 {
		t.Fatalf("%v, last place %v", err, index)
	}
	adevWithin(t, "spacing", tau0, 2.5, 2e-3)
}

func TestEvenlyRefuses(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	uneven := []float64{0}
	for range 100 {
		uneven = append(uneven, uneven[len(uneven)-1]+1+2*r.Float64())
	}
	for name, c := range map[string]struct {
		times []float64
		says  string
	}{
		"one stamp":     {[]float64{3}, "expected at least 2"},
		"backwards":     {[]float64{0, 1, 2, 1.5, 3}, "reading 4 is at 1.5 s"},
		"repeated":      {[]float64{0, 1, 1, 2}, "expected a later time"},
		"not a number":  {[]float64{0, 1, math.NaN(), 3}, "reading 3"},
		"typed by hand": {uneven, "off the beat"},
	} {
		if _, _, err := Evenly(c.times); !errors.Is(err, ErrUneven) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v; expected %q", name, err, c.says)
		}
	}
}

// Jitter below a quarter of the spacing and any pattern of missing readings
// are always sorted out; places always ascend.
func TestEvenlyOnAnyGrid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tau0 := rapid.Float64Range(1e-3, 1e3).Draw(t, "tau0")
		missing := rapid.SliceOfN(rapid.IntRange(0, 9), 40, 80).Draw(t, "missing")
		jitter := rapid.SliceOfN(rapid.Float64Range(-0.05, 0.05), len(missing), len(missing)).Draw(t, "jitter")
		var times []float64
		var want []int
		place := 0
		for i, k := range missing {
			if k < 2 {
				place += k // now and then one or two readings are missing
			}
			times = append(times, tau0*(float64(place)+jitter[i]))
			want = append(want, place)
			place++
		}
		_, index, err := Evenly(times)
		if err != nil {
			t.Fatal(err)
		}
		for i := range want {
			if index[i]-index[0] != want[i]-want[0] {
				t.Fatalf("reading %d at place %d, expected %d", i+1, index[i], want[i]-want[0])
			}
		}
	})
}

// The door for a bench log: gaps from times and from readings struck out.
func TestFromReadings(t *testing.T) {
	y := adevGaussian(100, 9)
	var times, kept, grid []float64
	for i, v := range y {
		switch {
		case i == 30 || i >= 60 && i < 70:
			grid = append(grid, math.NaN())
			continue
		case i == 45:
			v = math.NaN() // struck out, its time still there
		}
		times, kept, grid = append(times, 10*float64(i)), append(kept, v), append(grid, v)
	}
	p, err := FromReadings(times, kept)
	if err != nil {
		t.Fatal(err)
	}
	q := adevPhase(t, grid, 10)
	if p.Gaps() != 3 || p.Points() != q.Points() || p.Tau0S() != 10 {
		t.Errorf("%d gaps, %d points, spacing %g s", p.Gaps(), p.Points(), p.Tau0S())
	}
	for _, k := range []Kind{KindOverlappingAllan, KindModifiedAllan, KindOverlappingHadamard} {
		adevWithin(t, k.String(), adevValue(t, k, p, 4), adevValue(t, k, q, 4), 1e-12)
	}
	if _, err := FromReadings(times[:20], kept[:20]); !errors.Is(err, ErrNoRecord) || !strings.Contains(err.Error(), "at least 30") {
		t.Errorf("20 readings: %v", err)
	}
	if _, err := FromReadings(times, kept[1:]); !errors.Is(err, ErrNoRecord) {
		t.Errorf("unequal lengths: %v", err)
	}
}

func TestRecordsRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, make := range map[string]func() (Phase, error){
		"empty":              func() (Phase, error) { return NewPhase(nil, 1) },
		"all missing":        func() (Phase, error) { return FromFrequency([]float64{nan, nan}, 1) },
		"no neighbours":      func() (Phase, error) { return NewPhase([]float64{1, nan, 2}, 1) },
		"infinite phase":     func() (Phase, error) { return NewPhase([]float64{1, inf}, 1) },
		"infinite frequency": func() (Phase, error) { return FromFrequency([]float64{1, -inf}, 1) },
		"no spacing":         func() (Phase, error) { return NewPhase([]float64{1, 2}, 0) },
		"spacing NaN":        func() (Phase, error) { return FromFrequency([]float64{1, 2}, nan) },
	} {
		if _, err := make(); !errors.Is(err, ErrNoRecord) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Whatever is thrown at the doors, they answer with a record that can be used
// or with a reason.
func TestAnyReadings(t *testing.T) {
	odd := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1, 1), rapid.Just(math.NaN()), rapid.SampledFrom([]float64{0, 1e100, -1e100, math.Inf(1)}))
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(odd, 0, 60).Draw(t, "y")
		tau0 := rapid.OneOf(rapid.Just(1.0), rapid.Float64()).Draw(t, "tau0")
		times := rapid.SliceOfN(rapid.Float64(), len(y), len(y)).Draw(t, "times")
		if _, err := FromReadings(times, y); err != nil && !errors.Is(err, ErrNoRecord) && !errors.Is(err, ErrUneven) {
			t.Fatal(err)
		}
		for _, door := range []func([]float64, float64) (Phase, error){NewPhase, FromFrequency} {
			p, err := door(y, tau0)
			if err != nil {
				continue
			}
			all, err := DeviationsOf(p, DeviationOptions{Kinds: adevAllKinds, Factors: []int{1}})
			if err != nil && !errors.Is(err, ErrAveraging) {
				t.Fatal(err)
			}
			for _, kind := range all {
				for _, d := range kind {
					if !(d.Lo <= d.Value && d.Value <= d.Hi && !math.IsInf(d.Hi, 0) && d.N > 0) {
						t.Fatalf("%+v", d)
					}
				}
			}
		}
	})
}

func TestFactorsRefused(t *testing.T) {
	p := adevPhase(t, adevNBS9(), 1)
	for _, k := range adevAllKinds {
		for _, m := range []int{0, -3, 10, 1 << 60} {
			if _, err := Deviations(k, p, m); !errors.Is(err, ErrAveraging) {
				t.Errorf("%v m=%d: %v", k, m, err)
			}
		}
	}
	odd := PowerLaw(7)
	for _, o := range []DeviationOptions{{Level: 1}, {Level: math.NaN()}, {Kinds: []Kind{99}}, {Noise: &odd}} {
		if _, err := DeviationsOf(p, o); err == nil {
			t.Errorf("%+v was accepted", o)
		}
	}
	if k, err := ParseKind("overlapping"); err != nil || k != KindOverlappingAllan {
		t.Error(k, err)
	}
	if _, err := ParseKind("allen"); err == nil {
		t.Error("a kind that does not exist was accepted")
	}
}
