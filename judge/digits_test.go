package judge

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"setwright/quantity"
)

// Sums are made in the order of the sources, never in the order of a map: the
// same runs give the same digits, down to the last, every time.
func TestTheSameRunsGiveTheSameDigits(t *testing.T) {
	var a, b Side
	for i := range 8 {
		v := quantity.Exact(2400) // alike: then the scatter is what the sources say, a sum over them
		for k := range 12 {
			source := quantity.RunSource(fmt.Sprint(i), fmt.Sprintf("part-%d", k)).Source("", 5)
			v = v.With(quantity.Contribution{Source: source, C: math.Sqrt(float64(k+1)) * float64(i+1) / 3})
		}
		o := Observation{Run: fmt.Sprint(i), Outcome: quantity.Known(v)}
		if i%2 == 0 {
			a.Observations = append(a.Observations, o)
		} else {
			b.Observations = append(b.Observations, o)
		}
	}
	first, err := json.Marshal(Compare(a, b, settling, Options{}))
	if err != nil {
		t.Fatal(err)
	}
	for range 30 {
		if again, err := json.Marshal(Compare(a, b, settling, Options{})); err != nil || string(again) != string(first) {
			t.Fatalf("other digits (%v):\n%s\n%s", err, first, again)
		}
	}
}
