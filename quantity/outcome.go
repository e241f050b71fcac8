package quantity

// Kind says in which form a result is known.
type Kind string

// The forms in which a figure can be known.
const (
	KindValue    Kind = "value"    // a value with uncertainty
	KindInterval Kind = "interval" // "between 20 and 40 min"
	KindBound    Kind = "bound"    // "more than 38 min"
	KindCount    Kind = "count"    // a number of things
	KindChoice   Kind = "choice"   // "high side"
)

// The two directions of a bound.
const (
	MoreThan = "more_than"
	LessThan = "less_than"
)

// Outcome is a result in the form in which it is known. Value holds the value
// (KindValue), the limit (KindBound) or the number (KindCount), with its
// sources. Lo and Hi are the ends of a KindInterval. CI is an uneven confidence
// interval of a value at the given Level, nil where the uncertainty of Value
// says it all.
type Outcome struct {
	Kind   Kind
	Value  Value
	Lo, Hi float64
	Bound  string // MoreThan or LessThan, for KindBound
	Choice string
	CI     *[2]float64
	Level  float64
}

// Known returns a KindValue outcome.
func Known(v Value) Outcome { return Outcome{Kind: KindValue, Value: v} }

// Between returns a KindInterval outcome with lo <= hi.
func Between(lo, hi float64) Outcome {
	if hi < lo {
		lo, hi = hi, lo
	}
	return Outcome{Kind: KindInterval, Lo: lo, Hi: hi}
}

// Above returns the bound "more than v".
func Above(v Value) Outcome { return Outcome{Kind: KindBound, Bound: MoreThan, Value: v} }

// Below returns the bound "less than v".
func Below(v Value) Outcome { return Outcome{Kind: KindBound, Bound: LessThan, Value: v} }

// Counted returns a KindCount outcome.
func Counted(n int) Outcome { return Outcome{Kind: KindCount, Value: Exact(float64(n))} }

// Chosen returns a KindChoice outcome.
func Chosen(word string) Outcome { return Outcome{Kind: KindChoice, Choice: word} }

// Abs returns the size of what is known, for figures that carry a sign but are
// judged by their size. An interval or bound that holds zero gives one that
// begins there; a bound that says nothing about the size becomes undefined.
func (o Outcome) Abs() Outcome {
	switch o.Kind {
	case KindInterval:
		lo, hi := o.Lo, o.Hi
		switch {
		case hi < 0:
			o.Lo, o.Hi = -hi, -lo
		case lo < 0:
			o.Lo, o.Hi = 0, max(-lo, hi)
		}
		return o
	case KindBound:
		return o.absBound()
	}
	if o.CI != nil {
		ci := Between(o.CI[0], o.CI[1]).Abs()
		o.CI = &[2]float64{ci.Lo, ci.Hi}
	}
	o.Value = o.Value.Abs()
	return o
}

// absBound is Abs of a bound: "more than 5" keeps its sense, "less than -5" is
// "more than 5"; the others leave the size open.
func (o Outcome) absBound() Outcome {
	x := o.Value.Estimate()
	if (o.Bound == MoreThan && x >= 0) || (o.Bound == LessThan && x <= 0) {
		o.Value, o.Bound = o.Value.Abs(), MoreThan
		return o
	}
	return Above(Exact(0))
}
