package stability

import (
	"math"
	"math/rand/v2"
	"testing"

	"setwright/quantity"
)

// heated is a settled oscillator in a room that is warmed by 8 K after an hour
// and a half: the readings follow with a lag of 10 min, and drift on by 5 Hz/h.
func heated(seed uint64, ppmPerK, sigma float64) (ts, f, ambient []float64) {
	rng := rand.New(rand.NewPCG(seed, 1))
	for i := 0; i < 720; i++ {
		x := float64(i) * 20
		ts = append(ts, x)
		ambient = append(ambient, 20+8/(1+math.Exp(-(x-6000)/300))-4/(1+math.Exp(-(x-10500)/200)))
	}
	lagged := tempcoLagged(ts, ambient, 600)
	for i, x := range ts {
		f = append(f, 7e6*(1+ppmPerK*1e-6*(lagged[i]-20))+5*x/3600+sigma*rng.NormFloat64())
	}
	return ts, f, ambient
}

// The coefficient and the lag that a simulated room was made with come back.
func TestTemperatureCoefficientAndLag(t *testing.T) {
	inside, runs := 0, 40
	for k := 0; k < runs; k++ {
		ts, f, ambient := heated(uint64(k), -12, 4)
		c := Tempco(ts, f, ambient, 1800, 7e6)
		if c.Kind != quantity.KindValue {
			t.Fatalf("%+v", c)
		}
		near(t, "coefficient", c.Value*1e6, -12, 0.5)
		near(t, "lag, s", c.LagS, 600, 60)
		if math.Abs(c.Value+12e-6) < 2*c.U {
			inside++
		}
	}
	t.Logf("within two standard uncertainties in %d of %d", inside, runs)
	if inside < 33 {
		t.Errorf("coefficient within two of its standard uncertainties in %d of %d records", inside, runs)
	}
}

// A lag of its own makes no difference to a straight ramp but a delay: exact.
func TestLaggedRamp(t *testing.T) {
	var ts, ramp []float64
	for i := 0; i < 500; i++ {
		ts, ramp = append(ts, float64(i)*7), append(ramp, 0.01*float64(i)*7)
	}
	got := tempcoLagged(ts, ramp, 300)
	for i, x := range ts {
		near(t, "lagged ramp", got[i], 0.01*(x-300*(1-math.Exp(-x/300))), 1e-9)
	}
}

// Without ambient made to change there is no coefficient, and the reason is said.
func TestNoCoefficientWithoutACause(t *testing.T) {
	ts, f, ambient := heated(1, -12, 4)
	steady := make([]float64, len(ts))
	ramp := make([]float64, len(ts))
	missing := make([]float64, len(ts))
	for i, x := range ts {
		steady[i] = 20 + 2*math.Sin(x/1000)/2
		ramp[i] = 20 + x/2000
		missing[i] = math.NaN()
	}
	steady[300] = 55 // a thermometer touched: one wild reading is no change of ambient
	for _, row := range []struct {
		ambient []float64
		want    Reason
	}{
		{steady, ReasonAmbientSteady}, {missing, ReasonNoAmbient}, {ramp, ReasonNotSeparable},
	} {
		if c := Tempco(ts, f, row.ambient, 1800, 7e6); c.Given() || c.Reason != row.want {
			t.Errorf("got %+v, want %q", c.Result, row.want)
		}
	}
	if c := Tempco(ts, f, ambient, 12000, 7e6); c.Given() {
		t.Errorf("settled only after the change: %+v", c.Result)
	}
}
