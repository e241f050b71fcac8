package noise_test

import (
	"fmt"

	"setwright/noise"
	"setwright/quantity"
)

// Roddy and Coolen, Electronic Communication, 4th ed., example 4.15.1: a stage of
// 9 dB noise figure and 15 dB gain before a mixer of 20 dB.
func ExampleCascade() {
	fmt.Printf("%.2f dB\n", noise.Cascade(noise.Stage{NoiseFigureDB: 9, GainDB: 15}, noise.Stage{NoiseFigureDB: 20}))
	// Output: 10.44 dB
}

// Roddy and Coolen, example 4.19.1: a noise source of 14 dB excess noise ratio
// raises the output by 9 dB over that of a resistance at 290 K.
func ExampleYFactor() {
	hot := noise.HotTemperature(quantity.Exact(14))
	te := noise.YFactor(quantity.Exact(9), hot, quantity.Exact(290))
	fmt.Printf("%.0f K, %.2f dB\n", te.Estimate(), noise.FigureOfTemperature(te).Estimate())
	// Output: 759 K, 5.58 dB
}
