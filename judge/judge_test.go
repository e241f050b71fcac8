package judge

import (
	"fmt"
	"testing"

	"setwright/quantity"
)

// side makes a side of plain numbers, each with run noise u.
func side(name string, u float64, xs ...float64) Side {
	s := Side{Name: name}
	for i, x := range xs {
		id := fmt.Sprintf("%s-%d", name, i+1)
		v := quantity.New(x, quantity.Contribution{Source: quantity.RunSource(id, "noise").Source("noise of "+id, 0), C: u})
		s.Observations = append(s.Observations, Observation{Run: id, Outcome: quantity.Known(v)})
	}
	return s
}

func TestSmoke(t *testing.T) {
	c := Criterion{Figure: "settling_time", Unit: "s", Better: Smaller, Matters: 120, Why: "two minutes are not noticed"}
	for _, b := range [][]float64{{1300, 1350, 1280}, {2100, 2050, 2160}, {2900}, {1900, 1800, 2000}} {
		v := Compare(side("before", 10, 2100, 2200, 2130), side("after", 10, b...), c, Options{})
		t.Log(v.Word, v.P, v.PLarge, v.TOST, v.DoF)
		for _, r := range v.Reasons {
			t.Log("   ", r)
		}
		k := JudgeClaim(side("before", 10, 2100, 2200, 2130), side("after", 10, b...), Claim{Direction: Smaller, Amount: 1. / 3, Relative: true}, c, Options{})
		t.Log(k.Word, k.PKept, k.PShort, k.Ratio)
		t.Log("   ", k.Reasons[len(k.Reasons)-1], k.Needed)
	}
}
