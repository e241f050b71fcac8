package superhet_test

import (
	"fmt"

	"setwright/quantity"
	"setwright/superhet"
)

// Bird, Electrical Circuit Theory and Technology, 2nd ed., chapter 41, example 8:
// a T section of 20 dB for 600 ohm.
func ExampleNewPad() {
	p, err := superhet.NewPad(superhet.ShapeT, 20, 600, 600)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("series %.0f ohm, shunt %.1f ohm\n", p.R[0], p.R[1])
	// Output: series 491 ohm, shunt 121.2 ohm
}

// A receiver of 300 ohm on a generator of 50 ohm set to 1 µV across a matched
// load.
func ExamplePath_Arrive() {
	a, err := superhet.Path{LoadOhm: 300}.Arrive(superhet.FromPD(quantity.Exact(1e-6), 50))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f µV EMF, %.3f µV at the receiver\n", 1e6*a.EMF.Estimate(), 1e6*a.PD.Estimate())
	// Output: 2.00 µV EMF, 1.714 µV at the receiver
}
