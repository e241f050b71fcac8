package judge

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"setwright/quantity"
)

// drawSide draws a side of one to five runs: values, and where wanted intervals
// and bounds.
func drawSide(t *rapid.T, name string, forms bool) Side {
	s := Side{Name: name}
	n := rapid.IntRange(1, 5).Draw(t, name+" runs")
	for i := range n {
		x := rapid.Float64Range(10, 100).Draw(t, "x")
		noise, counter := rapid.Float64Range(0.1, 3).Draw(t, "noise"), rapid.Float64Range(0, 3).Draw(t, "counter")
		o := observed(name+string(rune('1'+i)), x, noise, counter)
		if forms {
			switch rapid.IntRange(0, 4).Draw(t, "form") {
			case 0:
				o.Outcome = quantity.Between(x, x+rapid.Float64Range(0, 20).Draw(t, "width"))
			case 1:
				o.Outcome = quantity.Above(o.Outcome.Value)
			case 2:
				o.Outcome = quantity.Below(o.Outcome.Value)
			}
		}
		s.Observations = append(s.Observations, o)
	}
	return s
}

func drawCriterion(t *rapid.T) Criterion {
	return Criterion{
		Figure: "f", Unit: "Hz", Relative: rapid.Bool().Draw(t, "relative"),
		Better:  rapid.SampledFrom([]Direction{Smaller, Larger, ""}).Draw(t, "better"),
		Matters: rapid.SampledFrom([]float64{0, 0.05, 0.5, 3, 30}).Draw(t, "matters"),
	}
}

func drawOptions(t *rapid.T) Options {
	o := quick
	if rapid.Bool().Draw(t, "known") {
		o.KnownScatter = &Spread{SD: 2, DoF: 7, Apart: rapid.Bool().Draw(t, "apart")}
	}
	return o
}

// Exchanging the sides exchanges better and worse and changes nothing else.
func TestSidesMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c, o := drawSide(t, "a", true), drawSide(t, "b", true), drawCriterion(t), drawOptions(t)
		v, w := Compare(a, b, c, o), Compare(b, a, c, o)
		if v.Word != w.Word.Mirror() {
			t.Fatalf("a to b: %q, b to a: %q", v.Word, w.Word)
		}
		if d := v.Difference.Estimate() + w.Difference.Estimate(); math.Abs(d) > 1e-9 {
			t.Fatalf("differences add to %v", d)
		}
		if math.Abs(v.P-w.P) > 1e-9 || math.Abs(v.TOST.Lower-w.TOST.Upper) > 1e-9 {
			t.Fatalf("p %v and %v, tests %+v and %+v", v.P, w.P, v.TOST, w.TOST)
		}
	})
}

// An error of the counter that all runs share moves all values alike and changes
// no difference, no uncertainty of it, and no word.
func TestSharedErrorChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c, o := drawSide(t, "a", true), drawSide(t, "b", true), drawCriterion(t), drawOptions(t)
		c.Relative = false
		u, off := rapid.Float64Range(0, 1000).Draw(t, "u"), rapid.Float64Range(-500, 500).Draw(t, "off")
		v, w := Compare(a, b, c, o), Compare(shifted(a, off, u), shifted(b, off, u), c, o)
		if v.Word != w.Word || math.Abs(v.P-w.P) > 1e-7 {
			t.Fatalf("%q (p %v) becomes %q (p %v)", v.Word, v.P, w.Word, w.P)
		}
		if d := v.Difference.U() - w.Difference.U(); math.Abs(d) > 1e-9 {
			t.Fatalf("u changes by %v", d)
		}
	})
}

func shifted(s Side, off, u float64) Side {
	out := Side{Name: s.Name}
	for _, o := range s.Observations {
		p := quantity.Contribution{Source: counterSource("reference-1"), C: u}
		o.Outcome.Value = o.Outcome.Value.Shift(off).With(p)
		o.Outcome.Lo, o.Outcome.Hi = o.Outcome.Lo+off, o.Outcome.Hi+off
		out.Observations = append(out.Observations, o)
	}
	return out
}

// Hertz or kilohertz: the word is the same.
func TestUnitsChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c, o := drawSide(t, "a", true), drawSide(t, "b", true), drawCriterion(t), drawOptions(t)
		k := rapid.SampledFrom([]float64{1024, 1.0 / 1024}).Draw(t, "k") // powers of two scale without rounding
		v := Compare(a, b, c, o)
		if !c.Relative {
			c.Matters *= k
		}
		if o.KnownScatter != nil {
			s := *o.KnownScatter
			s.SD *= k
			o.KnownScatter = &s
		}
		w := Compare(scaled(a, k), scaled(b, k), c, o)
		if v.Word != w.Word || math.Abs(v.P-w.P) > 1e-9 {
			t.Fatalf("%q (p %v) becomes %q (p %v)", v.Word, v.P, w.Word, w.P)
		}
	})
}

func scaled(s Side, k float64) Side {
	out := Side{Name: s.Name}
	for _, o := range s.Observations {
		o.Outcome.Value = o.Outcome.Value.Scale(k)
		o.Outcome.Lo, o.Outcome.Hi = o.Outcome.Lo*k, o.Outcome.Hi*k
		out.Observations = append(out.Observations, o)
	}
	return out
}

// Whatever value an interval or bound hides, the verdict on the form must not
// claim more than the verdict on that value lets stand: "better" is never
// "worse" for any of them.
func TestWordHoldsForEveryValueAllowed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c, o := drawSide(t, "a", true), drawSide(t, "b", true), drawCriterion(t), quick
		o.KnownScatter = &Spread{SD: 2, DoF: 7}
		v := Compare(a, b, c, o)
		fixed := Compare(fix(t, a), fix(t, b), c, o)
		if v.Word == NoDifference && fixed.Word != NoDifference {
			t.Fatalf("%q on intervals, %q on values within them", v.Word, fixed.Word)
		}
		if v.Word.Mirror() != v.Word && fixed.Word == v.Word.Mirror() {
			t.Fatalf("%q on intervals, %q on values within them", v.Word, fixed.Word)
		}
	})
}

// fix replaces intervals by a value in them and bounds by one beyond them.
func fix(t *rapid.T, s Side) Side {
	out := Side{Name: s.Name}
	for _, o := range s.Observations {
		f := rapid.Float64Range(0, 1).Draw(t, "where")
		switch x := o.Outcome; x.Kind {
		case quantity.KindInterval:
			o.Outcome = quantity.Known(quantity.Exact(x.Lo + f*(x.Hi-x.Lo)))
		case quantity.KindBound:
			beyond := 50 * f
			if x.Bound == quantity.LessThan {
				beyond = -beyond
			}
			o.Outcome = quantity.Known(x.Value.Shift(beyond))
		}
		out.Observations = append(out.Observations, o)
	}
	return out
}

// "Smaller by so much" of a figure is "larger by so much" of its negative.
func TestClaimsMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawSide(t, "a", false), drawSide(t, "b", false), drawCriterion(t)
		claim := Claim{Direction: Smaller, Amount: rapid.Float64Range(0, 0.9).Draw(t, "amount"), Relative: rapid.Bool().Draw(t, "of before")}
		other := claim
		other.Direction = Larger
		v := JudgeClaim(a, b, claim, c, quick)
		w := JudgeClaim(scaled(a, -1), scaled(b, -1), other, c, quick)
		if v.Word != w.Word || math.Abs(v.PKept-w.PKept) > 1e-9 {
			t.Fatalf("%q (p %v) and %q (p %v)", v.Word, v.PKept, w.Word, w.PKept)
		}
	})
}

// Holm's adjusted p values keep the order, are not below the plain ones, and not
// above Bonferroni's.
func TestHolmProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 12).Draw(t, "p")
		h := Holm(p)
		for i := range p {
			if h[i] < p[i] || h[i] > math.Min(1, float64(len(p))*p[i])+1e-15 {
				t.Fatalf("p %v becomes %v", p[i], h[i])
			}
			for j := range p {
				if p[i] < p[j] && h[i] > h[j] {
					t.Fatalf("order of %v and %v is lost", p[i], p[j])
				}
			}
		}
	})
}

// The more the runs scatter, the more of them are needed.
func TestMoreScatterNeedsMoreRuns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sd := rapid.Float64Range(5, 80).Draw(t, "sd")
		in := PlanInput{Criterion: settling, Scatter: Spread{SD: sd, DoF: 6}, Before: 1200}
		wider := in
		wider.Scatter.SD *= rapid.Float64Range(1, 2).Draw(t, "factor")
		p, q := must(MakePlan(in)), must(MakePlan(wider))
		if q.CanDecide && (!p.CanDecide || q.RunsPerSide < p.RunsPerSide) {
			t.Fatalf("scatter %v: %d runs, %v: %d runs", in.Scatter.SD, p.RunsPerSide, wider.Scatter.SD, q.RunsPerSide)
		}
	})
}

func must(p Plan, err error) Plan {
	if err != nil {
		panic(err)
	}
	return p
}
