package judge

import (
	"fmt"
	"math/rand/v2"

	"setwright/quantity"
)

// bench simulates runs: a side's true mean and run-to-run scatter, the noise of
// every run, and what the counter is off by. Invented numbers.
type bench struct {
	rng     *rand.Rand
	noise   float64 // standard deviation of a run's own noise, and its stated u
	counter float64 // standard uncertainty of the counter, common to all runs
}

func newBench(seed uint64) *bench {
	return &bench{rng: rand.New(rand.NewPCG(seed, 7))}
}

// side makes n runs with a given mean and scatter; off is the error of the
// counter that all of them share, in its standard deviations.
func (b *bench) side(name string, n int, mean, scatter, off float64) Side {
	s := Side{Name: name}
	for i := range n {
		x := mean + scatter*b.rng.NormFloat64() + b.noise*b.rng.NormFloat64() + b.counter*off
		s.Observations = append(s.Observations, observed(fmt.Sprintf("%s-%d", name, i+1), x, b.noise, b.counter))
	}
	return s
}

// observed is one run's value with noise of its own and the counter's error.
func observed(id string, x, noise, counter float64) Observation {
	v := quantity.New(x,
		quantity.Contribution{Source: quantity.RunSource(id, "noise").Source("noise of run "+id, 0), C: noise},
		quantity.Contribution{Source: counterSource("counter-1"), C: counter})
	return Observation{Run: id, Outcome: quantity.Known(v)}
}

func counterSource(of string) quantity.Source {
	k := quantity.SourceKey{Kind: quantity.FromInstrument, Of: of, Epoch: "2024-03", Quantity: "frequency"}
	return k.Source("time base of "+of, 0)
}

// plain makes a side of exact numbers.
func plain(name string, xs ...float64) Side {
	s := Side{Name: name}
	for i, x := range xs {
		s.Observations = append(s.Observations, observed(fmt.Sprintf("%s-%d", name, i+1), x, 0, 0))
	}
	return s
}

// share returns how often f is true in n tries.
func share(n int, f func() bool) float64 {
	hits := 0
	for range n {
		if f() {
			hits++
		}
	}
	return float64(hits) / float64(n)
}
