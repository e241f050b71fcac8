package quantity

import "strings"

// mantissa reads digits with their decimal sign and thousands marks.
func (s *scanner) mantissa(n *numeral) error {
	start := s.pos
	for s.digit(0) || s.mark() {
		s.pos++
	}
	text := string(s.runes[start:s.pos])
	if !strings.ContainsAny(text, "0123456789") {
		s.pos = start
		return s.fail("a number")
	}
	decimalSign, err := s.decimalSign(text, start)
	if err != nil {
		return err
	}
	whole, fraction := text, ""
	if decimalSign >= 0 {
		whole, fraction = text[:decimalSign], text[decimalSign+1:]
	}
	if strings.ContainsAny(fraction, "., '") {
		return s.failAt(start, text, "one decimal sign, and no marks after it")
	}
	if err := s.checkGroups(whole, start); err != nil {
		return err
	}
	n.digits = withoutMarks(whole) + fraction
	n.exp = -len(fraction)
	return nil
}

// mark reports whether a decimal sign or thousands mark stands here. A space is
// a mark only within digits: before a group of exactly three.
func (s *scanner) mark() bool {
	switch s.at(0) {
	case '.', ',':
		return true
	case '\'':
		return s.digit(1)
	case ' ':
		return s.pos > 0 && s.runes[s.pos-1] >= '0' && s.runes[s.pos-1] <= '9' &&
			s.digit(1) && s.digit(2) && s.digit(3) && !s.digit(4)
	}
	return false
}

// decimalSign returns the index of the decimal sign in text, -1 for none.
func (s *scanner) decimalSign(text string, start int) (int, error) {
	dots, commas := strings.Count(text, "."), strings.Count(text, ",")
	dot, comma := strings.LastIndex(text, "."), strings.LastIndex(text, ",")
	switch {
	case s.notation.Decimal == '.':
		return dot, nil
	case s.notation.Decimal == ',':
		return comma, nil
	case dots > 0 && commas > 0: // the last one, which must be single
		if last := max(dot, comma); last == dot && dots == 1 || last == comma && commas == 1 {
			return last, nil
		}
		return 0, s.failAt(start, text, "one decimal sign")
	case dots == 1:
		return dot, nil
	case commas == 1:
		return s.loneComma(text, start)
	}
	return -1, nil // none, or several of one kind: thousands marks
}

// loneComma decides whether the one comma is a decimal sign.
func (s *scanner) loneComma(text string, start int) (int, error) {
	whole, fraction, _ := strings.Cut(text, ",")
	thousands := len(fraction) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0'
	switch {
	case !thousands:
		return len(whole), nil
	case s.wanted != nil && s.wanted.unit.Dimension == "count":
		return -1, nil
	}
	return 0, s.failAt(start, text, "a number that can be read in one way only: write "+
		whole+"."+fraction+" if the comma is a decimal sign, "+whole+fraction+" if it marks thousands")
}

// checkGroups refuses thousands marks that do not part groups of three.
func (s *scanner) checkGroups(whole string, start int) error {
	marks := len(whole) - len(withoutMarks(whole))
	if marks == 0 {
		return nil
	}
	groups := strings.FieldsFunc(whole, func(r rune) bool { return strings.ContainsRune(".,' ", r) })
	wrong := len(groups) != marks+1 || mixed(whole)
	for i, g := range groups {
		wrong = wrong || len(g) > 3 || i > 0 && len(g) < 3
	}
	if wrong {
		return s.failAt(start, whole, "thousands marks of one kind that part groups of three digits")
	}
	return nil
}

// mixed reports whether different thousands marks occur in one number.
func mixed(whole string) bool {
	kinds := 0
	for _, m := range []string{".", ",", "'", " "} {
		if strings.Contains(whole, m) {
			kinds++
		}
	}
	return kinds > 1
}

func withoutMarks(whole string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, whole)
}
