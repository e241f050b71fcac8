package stability

import (
	"math"
	"math/rand/v2"
	"testing"

	"setwright/quantity"
)

// warmRoom is a simulated set of −12 ppm/K and a lag of 400 s that warms up
// within the hour; after 2.5 h the room is warmed by 8 K for 100 min.
func warmRoom(seed uint64, sigma, step float64) Record {
	rng := rand.New(rand.NewPCG(seed, 1))
	var r Record
	for x := 0.0; x <= 21600; x += 15 {
		room := 20.0
		if x >= 9000 && x < 15000 {
			room += step
		}
		r.TimeS, r.AmbientC = append(r.TimeS, x), append(r.AmbientC, room+0.05*rng.NormFloat64())
	}
	lagged := tempcoLagged(r.TimeS, r.AmbientC, 400)
	for i, x := range r.TimeS {
		r.FrequencyHz = append(r.FrequencyHz, math.Round(10*(5e6-1500*math.Exp(-x/900)-60*(lagged[i]-20)+sigma*rng.NormFloat64()))/10)
	}
	return r
}

// A room warmed on purpose moves the set out of every band it had settled to.
// The coefficient comes from the part before on, and the change is no jump.
func TestRoomWarmedAfterSettlingGivesTheCoefficient(t *testing.T) {
	inside, runs := 0, 10
	for k := range runs {
		a := analyse(t, warmRoom(uint64(k), 1, 8), Options{NominalHz: 5e6, Fit: FitTrend, Draws: 2})
		c := a.Tempco
		if c.Kind != quantity.KindValue {
			t.Fatalf("%+v", c)
		}
		if c.BandHz != 20 || c.FromS < 3000 || c.FromS > 9000 {
			t.Errorf("settled to ±%v Hz from %v s on, want ±20 Hz within the second hour", c.BandHz, c.FromS)
		}
		near(t, "coefficient", c.Value*1e6, -12, 0.5)
		near(t, "start of the change, s", c.ChangeS, 9000, 120)
		if math.Abs(c.Value+12e-6) < 2*c.U {
			inside++
		}
		if len(a.Jumps) > 0 {
			t.Errorf("the warming of the room is taken for jumps: %+v", a.Jumps)
		}
	}
	t.Logf("within two standard uncertainties in %d of %d", inside, runs)
	if inside < 8 {
		t.Errorf("coefficient within two of its standard uncertainties in %d of %d records", inside, runs)
	}
}

// A jump in such a record is still found, and does not bend the coefficient.
func TestJumpInAWarmedRoom(t *testing.T) {
	r := warmRoom(3, 1, 8)
	for i, x := range r.TimeS {
		if x > 18000 {
			r.FrequencyHz[i] += 90
		}
	}
	a := analyse(t, r, Options{NominalHz: 5e6, Fit: FitTrend, Draws: 2})
	if len(a.Jumps) != 1 || math.Abs(a.Jumps[0].SizeHz-90) > 5 {
		t.Errorf("jumps %+v, want one of 90 Hz", a.Jumps)
	}
	near(t, "coefficient", a.Tempco.Value*1e6, -12, 0.5)
}

// A room that moves by 2 K is no experiment.
func TestRoomThatHardlyMovedGivesNone(t *testing.T) {
	if a := analyse(t, warmRoom(1, 1, 2), Options{NominalHz: 5e6, Fit: FitTrend, Draws: 2}); a.Tempco.Given() {
		t.Errorf("%+v", a.Tempco)
	}
}
