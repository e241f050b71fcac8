package recording

// predictFixed adds the fixed predictor of some order to its residual (9.2.5).
func predictFixed(s []int64, order int) {
	from := history + order
	switch order {
	case 1:
		for i := from; i < len(s); i++ {
			s[i] += s[i-1]
		}
	case 2:
		for i := from; i < len(s); i++ {
			s[i] += 2*s[i-1] - s[i-2]
		}
	case 3:
		for i := from; i < len(s); i++ {
			s[i] += 3*(s[i-1]-s[i-2]) + s[i-3]
		}
	case 4:
		for i := from; i < len(s); i++ {
			s[i] += 4*(s[i-1]+s[i-3]) - 6*s[i-2] - s[i-4]
		}
	}
}

// predictLinear adds a linear predictor (9.2.6): c[0] belongs to the sample
// just before. Shorter predictors are padded with zeros, for which there is the
// history.
func predictLinear(s []int64, c *[history]int64, order int, shift uint) {
	shift &= 63
	from := history + order
	switch {
	case order <= 4:
		linear4(s, c, from, shift)
	case order <= 8:
		linear8(s, c, from, shift)
	case order <= 12:
		linear12(s, c, from, shift)
	default:
		linearAny(s, c[:order], from, shift)
	}
}

// The sample just before is kept out of memory and comes last: everything else
// can be summed while it is made.

func linear4(s []int64, c *[history]int64, from int, shift uint) {
	c0, c1, c2, c3 := c[0], c[1], c[2], c[3]
	last := s[from-1]
	for i := from; i < len(s); i++ {
		h := (*[4]int64)(s[i-4:])
		sum := c3*h[0] + c2*h[1] + c1*h[2]
		last = s[i] + (sum+c0*last)>>shift
		s[i] = last
	}
}

func linear8(s []int64, c *[history]int64, from int, shift uint) {
	c0, c1, c2, c3, c4, c5, c6, c7 := c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7]
	last := s[from-1]
	for i := from; i < len(s); i++ {
		h := (*[8]int64)(s[i-8:])
		sum := c7*h[0] + c6*h[1] + c5*h[2] + c4*h[3] + c3*h[4] + c2*h[5] + c1*h[6]
		last = s[i] + (sum+c0*last)>>shift
		s[i] = last
	}
}

func linear12(s []int64, c *[history]int64, from int, shift uint) {
	c0, c1, c2, c3, c4, c5, c6, c7, c8, c9, c10, c11 := c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8], c[9], c[10], c[11]
	last := s[from-1]
	for i := from; i < len(s); i++ {
		h := (*[12]int64)(s[i-12:])
		sum := c11*h[0] + c10*h[1] + c9*h[2] + c8*h[3] + c7*h[4] + c6*h[5] + c5*h[6] + c4*h[7] + c3*h[8] + c2*h[9] + c1*h[10]
		last = s[i] + (sum+c0*last)>>shift
		s[i] = last
	}
}

func linearAny(s []int64, c []int64, from int, shift uint) {
	for i := from; i < len(s); i++ {
		h := s[i-len(c) : i]
		var sum int64
		for k, x := range h {
			sum += c[len(h)-1-k] * x
		}
		s[i] += sum >> shift
	}
}
