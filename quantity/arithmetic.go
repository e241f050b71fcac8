package quantity

import "math"

// Arithmetic never panics and returns no errors, so that formulas stay
// readable: like package math it has special cases. Where a result is not a
// finite number, or first-order propagation has no finite derivative there, the
// result is [Undefined]; it goes on through everything computed from it and is
// refused by JSON, so it can't be mistaken for a figure.

// Undefined returns the value of what has none: its estimate and its
// uncertainty are NaN.
func Undefined() Value { return Value{estimate: math.NaN()} }

// Defined reports whether v has a finite estimate and a finite uncertainty.
func (v Value) Defined() bool { return finite(v.estimate) && finite(v.U()) }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// combine is Combine with the special cases of arithmetic: the derivative
// belonging to an exact value is not looked at.
func combine(f float64, values []Value, gradient []float64) Value {
	if !finite(f) {
		return Undefined()
	}
	for i, v := range values {
		if len(v.parts) > 0 && !finite(gradient[i]) {
			return Undefined()
		}
	}
	return Combine(f, values, gradient)
}

// apply returns f(v) for a function with value f and derivative df at v.
func (v Value) apply(f, df float64) Value {
	return combine(f, []Value{v}, []float64{df})
}

// Add returns v + w.
func (v Value) Add(w Value) Value {
	return combine(v.estimate+w.estimate, []Value{v, w}, []float64{1, 1})
}

// Sub returns v − w. What both share cancels: v.Sub(v) is exactly 0 with no
// uncertainty.
func (v Value) Sub(w Value) Value {
	return combine(v.estimate-w.estimate, []Value{v, w}, []float64{1, -1})
}

// Mul returns v·w.
func (v Value) Mul(w Value) Value {
	return combine(v.estimate*w.estimate, []Value{v, w}, []float64{w.estimate, v.estimate})
}

// Div returns v/w, undefined where w is 0. First order holds as long as the
// uncertainty of w is small beside w. A source whose effect on v and w is the
// same fraction cancels to rounding.
func (v Value) Div(w Value) Value {
	q := v.estimate / w.estimate
	return combine(q, []Value{v, w}, []float64{1 / w.estimate, -q / w.estimate})
}

// Neg returns −v.
func (v Value) Neg() Value { return v.apply(0-v.estimate, -1) }

// Scale returns k·v for an exact number k.
func (v Value) Scale(k float64) Value { return v.apply(k*v.estimate, k) }

// Shift returns v + k for an exact number k.
func (v Value) Shift(k float64) Value { return v.apply(v.estimate+k, 1) }

// Abs returns |v|. At 0, where there is no derivative, the contributions are
// kept as they are: the uncertainty is then an upper limit.
func (v Value) Abs() Value {
	if v.estimate < 0 {
		return v.Neg()
	}
	return v
}

// Log returns the natural logarithm of v, undefined for v <= 0.
func (v Value) Log() Value { return v.apply(math.Log(v.estimate), 1/v.estimate) }

// Log10 returns the decimal logarithm of v, undefined for v <= 0.
func (v Value) Log10() Value { return v.apply(math.Log10(v.estimate), 1/(v.estimate*math.Ln10)) }

// Exp returns e to the power v, undefined where it overflows.
func (v Value) Exp() Value {
	e := math.Exp(v.estimate)
	return v.apply(e, e)
}

// Pow returns v to the exact real power p. Special cases: p = 0 gives exactly
// 1; a negative v wants a whole p, else the result is undefined; v = 0 is
// undefined for p < 0, and for 0 < p < 1 unless v is exact. Above p = 1 a v of
// 0 keeps no uncertainty, because first order has none: use Monte Carlo there.
func (v Value) Pow(p float64) Value {
	if p == 0 && finite(v.estimate) {
		return Exact(1)
	}
	return v.apply(math.Pow(v.estimate, p), p*math.Pow(v.estimate, p-1))
}

// Sqrt returns the square root of v, undefined for v < 0, and at 0 unless v is
// exact.
func (v Value) Sqrt() Value {
	r := math.Sqrt(v.estimate)
	return v.apply(r, 0.5/r)
}

// Sum returns the sum of the values, exactly 0 for none.
func Sum(values ...Value) Value {
	f, gradient := 0.0, make([]float64, len(values))
	for i, v := range values {
		f += v.estimate
		gradient[i] = 1
	}
	return combine(f, values, gradient)
}

// Mean returns the arithmetic mean, undefined for no values. It propagates what
// the values already carry; scatter between them that they do not carry is not
// seen here and belongs in a source of its own.
func Mean(values ...Value) Value {
	weights := make([]float64, len(values))
	for i := range weights {
		weights[i] = 1
	}
	return WeightedMean(values, weights)
}

// WeightedMean returns Σ wᵢvᵢ / Σ wᵢ with exact weights, undefined where these
// sum to zero or there are none. The slices have equal length, or it panics.
func WeightedMean(values []Value, weights []float64) Value {
	if len(values) != len(weights) {
		panic("quantity: WeightedMean needs one weight for each value")
	}
	total := 0.0
	for _, w := range weights {
		total += w
	}
	f, gradient := 0.0, make([]float64, len(values))
	for i, v := range values {
		gradient[i] = weights[i] / total
		f += weights[i] * v.estimate
	}
	return combine(f/total, values, gradient)
}
