package chart

// LogTicks returns ticks for a logarithmic axis from lo to hi (both above
// zero, lo below hi; otherwise none): decades, with 2 and 5 between them where
// the range is short, all of them labelled; and minor ones, unlabelled, at
// 2 to 9 where there is room. At most `most` labelled ticks (2 or more). A
// range within one step of 1-2-5 gets evenly spaced values instead.
//
// Numbers from 0.001 to 100 000 are written out; where any label would lie
// outside that, all are powers of ten: 10⁻⁹, 2×10⁻⁹.
func LogTicks(lo, hi float64, most int) (ticks, minor []Tick) {
	if !finite(lo) || !finite(hi) || lo <= 0 || lo >= hi {
		return nil, nil
	}
	most = max(most, 2)
	for _, digits := range [][]int{{1, 2, 3, 4, 5, 6, 7, 8, 9}, {1, 2, 5}, {1, 3}, {1}} {
		if len(digits) == 9 && hi/lo > 5 {
			continue // nine a decade are for less than one
		}
		if t := decades(lo, hi, 1, digits); len(t) >= 2 && len(t) <= most {
			return logLabels(t), minors(lo, hi, len(decades(lo, hi, 1, []int{1})), most)
		}
	}
	if len(decades(lo, hi, 1, []int{1})) > most {
		return everyFew(lo, hi, most), nil
	}
	return evenly(lo, hi, most), nil
}

// evenly gives the ticks of a linear axis to a short stretch of a logarithmic
// one.
func evenly(lo, hi float64, most int) []Tick {
	e := exponent(hi)
	if e >= -3 && e <= 5 {
		return LinearTicks(lo, hi, most)
	}
	var out []Tick
	for _, t := range LinearTicks(lo/pow10(e), hi/pow10(e), most) {
		if v := t.Value * pow10(e); v >= lo && v <= hi {
			out = append(out, Tick{v, t.Label + times + powerOfTen(e)})
		}
	}
	return out
}

// logValue is digit times ten to the power exp.
type logValue struct {
	digit, exp int
	value      float64
}

// decades lists digit times ten to every `every`-th power within lo to hi.
func decades(lo, hi float64, every int, digits []int) []logValue {
	var out []logValue
	for e := exponent(lo); e <= exponent(hi); e++ {
		if e%every != 0 {
			continue
		}
		for _, d := range digits {
			v := step{float64(d), e}.size()
			if v >= lo && v <= hi {
				out = append(out, logValue{d, e, v})
			}
		}
	}
	return out
}

func everyFew(lo, hi float64, most int) []Tick {
	for every := 2; ; every++ {
		if t := decades(lo, hi, every, []int{1}); len(t) <= most {
			return logLabels(t)
		}
	}
}

func minors(lo, hi float64, nDecades, most int) []Tick {
	if nDecades > 2*most {
		return nil
	}
	var out []Tick
	for _, v := range decades(lo, hi, 1, []int{2, 3, 4, 5, 6, 7, 8, 9}) {
		out = append(out, Tick{Value: v.value})
	}
	return out
}

func logLabels(values []logValue) []Tick {
	plain := true
	for _, v := range values {
		plain = plain && v.exp >= -3 && v.exp <= 5
	}
	var out []Tick
	for _, v := range values {
		out = append(out, Tick{v.value, v.label(plain)})
	}
	return out
}

func (v logValue) label(plain bool) string {
	if plain {
		return Number(v.value, -v.exp)
	}
	if v.digit == 1 {
		return powerOfTen(v.exp)
	}
	return string(rune('0'+v.digit)) + times + powerOfTen(v.exp)
}
