package quantity_test

import (
	"fmt"
	"strings"

	"setwright/quantity"
)

// The error of a counter's time base is common to two runs made with it and
// cancels in their difference; noise does not.
func Example() {
	timeBase := quantity.SourceKey{
		Kind: quantity.FromInstrument, Of: "counter-1", Epoch: "2026-03-01", Quantity: "frequency",
	}.Source("counter time base", 0)
	noise := func(run string) quantity.Source {
		return quantity.RunSource(run, "noise").Source("noise of run "+run, 11)
	}
	before := quantity.New(7_455_310, quantity.Contribution{Source: timeBase, C: 37}, quantity.Contribution{Source: noise("7"), C: 4})
	after := quantity.New(7_455_110, quantity.Contribution{Source: timeBase, C: 37}, quantity.Contribution{Source: noise("8"), C: 3})

	d := after.Sub(before)
	fmt.Println("before:    ", quantity.Format(before, "Hz"))
	fmt.Println("difference:", quantity.Format(d, "Hz"))
	for _, e := range quantity.Shared(after, before) {
		fmt.Printf("%-20s %4.0f %4.0f %4.0f cancelled: %v\n", e.Name, e.A, e.B, e.Result, e.Cancelled())
	}
	// Output:
	// before:     7455.310 ± 0.037 kHz
	// difference: −200.0 ± 5.0 Hz
	// counter time base      37   37    0 cancelled: true
	// noise of run 7          0    4   -4 cancelled: false
	// noise of run 8          3    0    3 cancelled: false
}

// JCGM 100:2008, annex H.1 (from memory): calibration of an end gauge. The GUM
// prints 93 nm because it rounds u to 32 nm before it multiplies.
func ExampleValue_Expanded_endGauge() {
	part := func(name string, c, dof float64) quantity.Contribution {
		return quantity.Contribution{Source: quantity.Source{ID: name, Name: name, DoF: dof}, C: c}
	}
	l := quantity.New(50_000_838,
		part("standard", 25, 18), part("repeat", 5.8, 24), part("comparator, random", 3.9, 5),
		part("comparator, systematic", 6.7, 8), part("expansion", 2.9, 50), part("temperature", 16.6, 2))
	fmt.Printf("u %.1f nm, %.1f degrees of freedom, U99 %.1f nm\n", l.U(), l.DoF(), l.Expanded(0.99))
	for _, s := range l.Budget()[:2] {
		fmt.Printf("%s %.0f %%\n", s.Name, 100*s.Share)
	}
	// Output:
	// u 31.7 nm, 16.8 degrees of freedom, U99 92.5 nm
	// standard 62 %
	// temperature 27 %
}

func ExampleParseAs() {
	for _, text := range []string{"7065k", "7.065 Mc/s", "7'065'000 Hz", "7,065 MHz"} {
		q, err := quantity.ParseAs(text, "Hz")
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(q.Value, "Hz, last digit", q.Resolution, "Hz")
	}
	// Output:
	// 7.065e+06 Hz, last digit 1000 Hz
	// 7.065e+06 Hz, last digit 1000 Hz
	// 7.065e+06 Hz, last digit 1 Hz
	// "7,065 MHz", character 1: found "7,065", expected a number that can be read in one way only: write 7.065 if the comma is a decimal sign, 7065 if it marks thousands, for example "7.065 MHz"
}

func ExampleScaleFor() {
	times := []quantity.Value{
		quantity.New(1260, quantity.Contribution{Source: quantity.Source{ID: "a"}, C: 35}),
		quantity.New(45, quantity.Contribution{Source: quantity.Source{ID: "b"}, C: 6}),
	}
	s := quantity.ScaleFor([]float64{1260, 45}, "s")
	fmt.Println("settling time,", s.Label)
	for _, v := range times {
		fmt.Println(quantity.Printer{}.In(v, s))
	}
	// Output:
	// settling time, min
	// 21.00 ± 0.58
	// 0.75 ± 0.10
}

func ExampleFormatOutcome() {
	fmt.Println(strings.Join([]string{
		quantity.FormatOutcome(quantity.Between(1200, 2400), "s"),
		quantity.FormatOutcome(quantity.Above(quantity.Exact(2280)), "s"),
		quantity.FormatOutcome(quantity.Counted(3), "count"),
	}, "; "))
	// Output: between 20 and 40 min; more than 38 min; 3
}
