package quantity

import "math"

// fractions are those that have a name people use.
var fractions = []struct {
	value float64
	name  string
}{
	{1. / 2, "half"}, {1. / 3, "a third"}, {2. / 3, "two thirds"}, {1. / 4, "a quarter"}, {3. / 4, "three quarters"},
	{1. / 5, "a fifth"}, {1. / 10, "a tenth"},
}

// Fraction prints a fraction as it is said: "a third"; "15 %" where it has no
// name of its own.
func (p Printer) Fraction(x float64) string {
	for _, f := range fractions {
		if math.Abs(x-f.value) < 0.0005 {
			return f.name
		}
	}
	return p.Told(100*x, "%", 3)
}
