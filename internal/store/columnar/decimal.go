package columnar

import "math"

// decimals returns value·10^places for each value, with the fewest places that
// fit all but one finite value in sixteen, and the values kept aside. It
// reports false where there is no such number of places: then bit patterns are
// shorter.
func decimals(values []float64) (whole []int64, places int, aside []exception, ok bool) {
	whole = make([]int64, len(values))
	for {
		aside, more := scaleAll(whole, values, places)
		if more == places {
			return whole, places, aside, true
		}
		if more > maxPlaces {
			return nil, 0, nil, false
		}
		places = more
	}
}

// scaleAll fills whole with the values times 10^places and returns the values
// that do not fit. If these are too many it stops and returns the fewest places
// that would fit one of them, more than maxPlaces if there are none.
//
// A value kept aside takes the whole number before it (at the start, the first
// after it), so that a missing cell costs nothing in the differences.
func scaleAll(whole []int64, values []float64, places int) (aside []exception, need int) {
	allowed := len(values) / 16
	power := pow10[places]
	need = maxPlaces + 1
	var last int64
	for i, v := range values {
		if m, fits := scaled(v, power); fits {
			whole[i], last = m, m
			if len(aside) == i { // the first that fits
				fill(whole[:i], m)
			}
			continue
		}
		if v != 0 && !math.IsNaN(v) && !math.IsInf(v, 0) {
			need = min(need, placesOf(v, places))
			if allowed--; allowed < 0 {
				return nil, need
			}
		}
		aside = append(aside, exception{i, math.Float64bits(v)})
		whole[i] = last
	}
	return aside, places
}

func fill(whole []int64, m int64) {
	for i := range whole {
		whole[i] = m
	}
}

// scaled returns v·power as a whole number, and whether dividing that by power
// gives v back bit for bit. Whole numbers up to 2^53 and powers up to 10^22
// are exact, so the one division rounds once, as reading the decimal would.
func scaled(v, power float64) (int64, bool) {
	m := math.RoundToEven(v * power)
	if !(math.Abs(m) <= exact) {
		return 0, false
	}
	n := int64(m)
	return n, math.Float64bits(float64(n)/power) == math.Float64bits(v)
}

// placesOf returns the fewest places, more than from, with which v fits, or
// more than maxPlaces.
func placesOf(v float64, from int) int {
	for p := from + 1; p <= maxPlaces; p++ {
		if _, fits := scaled(v, pow10[p]); fits {
			return p
		}
	}
	return maxPlaces + 1
}
