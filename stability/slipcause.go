package stability

import "math"

// slipCause names what turns the expected value e into the reading v. tol is
// what the expected value may be out by.
func slipCause(v, e, tol float64) SlipReason {
	if why := slipGross(v, e, math.Max(tol, 0.002*math.Abs(e))); why != "" {
		return why
	}
	if slipDropped(v, e, tol) {
		return SlipDigitDropped
	}
	d := math.Abs(v - e)
	place := math.Pow(10, math.Floor(math.Log10(d+tol)))
	if k := math.Round(d / place); place >= 10*tol && k >= 1 && k <= 9 && math.Abs(d-k*place) <= tol {
		return SlipDigit
	}
	return SlipWild
}

// slipGross names a factor of two or of ten between v and e, "" for neither.
func slipGross(v, e, tol float64) SlipReason {
	near := func(factor float64) bool {
		return e != 0 && math.Abs(v-e*factor) <= tol*math.Max(factor, 0.1)
	}
	switch {
	case near(0.5):
		return SlipHalf
	case near(2):
		return SlipDouble
	case near(0.1), near(10), near(0.01), near(100):
		return SlipDecimal
	}
	return ""
}

// slipDropped says whether v is e with one decimal digit left out.
func slipDropped(v, e, tol float64) bool {
	v, e = math.Abs(v), math.Abs(e)
	for p := 1.0; p*10 <= e; p *= 10 {
		if p <= 10*tol {
			continue // the digits below are not known well enough to tell
		}
		left := math.Floor(e/(10*p))*p + math.Mod(e, p)
		if math.Abs(v-left) <= tol {
			return true
		}
	}
	return false
}

// slipFewReadings is the rule for short records: gross known causes only, and
// only where the other readings agree to a tenth.
func slipFewReadings(s recSeries, reasons []SlipReason, expected []float64) {
	med := recMedian(append([]float64(nil), s.f...))
	agree := 0
	for _, v := range s.f {
		if math.Abs(v-med) <= 0.05*math.Abs(med) {
			agree++
		}
	}
	if agree < len(s.f)-1-len(s.f)/4 || agree < 3 {
		return
	}
	for i, v := range s.f {
		if math.Abs(v-med) > 0.05*math.Abs(med) {
			slipMarkGross(s, i, med, 0.05, reasons, expected)
		}
	}
}

// slipMarkGross sets reading i aside where a gross known cause turns e into it,
// to within the fraction rel.
func slipMarkGross(s recSeries, i int, e, rel float64, reasons []SlipReason, expected []float64) {
	tol := rel * math.Abs(e)
	why := slipGross(s.f[i], e, tol)
	if why == "" && slipDropped(s.f[i], e, tol) {
		why = SlipDigitDropped
	}
	if why != "" {
		reasons[i], expected[i] = why, e
	}
}
