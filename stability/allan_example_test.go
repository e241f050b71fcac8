package stability_test

import (
	"fmt"

	"setwright/stability"
)

// The nine frequencies of NBS Monograph 140, annex 8.E; printed values of NIST
// SP 1065 (2008), Table 30: OADEV 91.22945 and 85.95287, OHDEV 70.80607 and
// 85.61487.
func ExampleDeviationsOf() {
	y := []float64{892, 809, 823, 798, 671, 644, 883, 903, 677}
	record, err := stability.FromFrequency(y, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	all, err := stability.DeviationsOf(record, stability.DeviationOptions{
		Kinds:   []stability.Kind{stability.KindOverlappingAllan, stability.KindOverlappingHadamard},
		Factors: []int{1, 2},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, kind := range all {
		for _, d := range kind {
			fmt.Printf("%v %g s: %.5f from %d differences\n", d.Kind, d.TauS, d.Value, d.N)
		}
	}
	// Output:
	// overlapping 1 s: 91.22945 from 8 differences
	// overlapping 2 s: 85.95287 from 6 differences
	// overlapping_hadamard 1 s: 70.80607 from 7 differences
	// overlapping_hadamard 2 s: 85.61487 from 4 differences
}
