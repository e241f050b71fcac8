package quantity

import (
	"regexp"
	"strings"
)

// resolve finds the unit that w means for the number n, and its qualifier.
func (s *scanner) resolve(w word, n numeral) (unitMatch, string, error) {
	if n.infix != "" {
		return s.resolveInfix(w, n)
	}
	if w.text == "" {
		return s.unwritten(), "", nil
	}
	m, err := s.unit(w)
	if err == nil {
		return m, "", nil
	}
	if bare, qualifier := splitQualifier(w.text); qualifier != "" {
		if m, bareErr := s.unit(word{bare, w.pos}); bareErr == nil && qualifies[m.unit.Dimension] {
			return m, qualifier, nil
		}
	}
	return unitMatch{}, "", err
}

// unwritten is the unit of a lone number.
func (s *scanner) unwritten() unitMatch {
	if s.wanted != nil {
		return *s.wanted
	}
	return unitMatch{unit: baseUnit("ratio")}
}

// resolveInfix gives 2k2 its unit: the wanted one, the one written behind, or
// ohm. R is ohm always.
func (s *scanner) resolveInfix(w word, n numeral) (unitMatch, string, error) {
	symbol := "Ω"
	if s.wanted != nil {
		symbol = s.wanted.unit.Symbol
	}
	if w.text == "" && s.wanted == nil && !strings.Contains("kKMGR", n.infix) {
		return unitMatch{}, "", s.failAt(n.pos, n.text, "a unit; only k, M, G and R between digits mean ohms without one")
	}
	if w.text != "" {
		m, qualifier, err := s.resolve(w, numeral{})
		if err != nil {
			return m, "", err
		}
		if m.exp != 0 {
			return m, "", s.failAt(w.pos, w.text, "a unit without prefix after "+n.text)
		}
		found, err := s.infixed(n, m.unit.Symbol)
		return found, qualifier, err
	}
	m, err := s.infixed(n, symbol)
	return m, "", err
}

func (s *scanner) infixed(n numeral, symbol string) (unitMatch, error) {
	text := n.infix + symbol
	if n.infix == "R" {
		text = "Ω"
	}
	for _, m := range matchUnits(text, "", false) {
		if m.unit.Symbol == symbol && !(n.infix == "m" && m.unit.Dimension == "frequency") {
			return m, nil
		}
	}
	return unitMatch{}, s.failAt(n.pos, n.text, "a prefix used with "+symbol+" between the digits")
}

// unit reads a unit symbol: as written, then as a lone prefix, then without
// regard to case.
func (s *scanner) unit(w word) (unitMatch, error) {
	text, dimensions := normalSymbol(w.text), s.dimensions()
	for _, d := range dimensions {
		if m, ok := first(matchUnits(text, d, false)); ok {
			return m, s.checkAsWritten(m, text, w)
		}
	}
	if m, ok, err := s.lonePrefix(text, w); ok || err != nil {
		return m, err
	}
	if err := s.checkTrap(text, w); err != nil {
		return unitMatch{}, err
	}
	for _, d := range dimensions {
		if found := matchUnits(text, d, true); agree(found) {
			return found[0], nil
		}
	}
	return unitMatch{}, s.wrongUnit(text, w)
}

// dimensions are those in which a unit is looked for; "" is any.
func (s *scanner) dimensions() []string {
	switch {
	case s.wanted == nil:
		return []string{""}
	case s.wanted.unit.Dimension == "temperature":
		return []string{"temperature", "temperature in kelvin"}
	}
	return []string{s.wanted.unit.Dimension}
}

func first(found []unitMatch) (unitMatch, bool) {
	if len(found) == 0 {
		return unitMatch{}, false
	}
	return found[0], true
}

// agree reports whether there is a reading and all readings mean the same.
func agree(found []unitMatch) bool {
	for _, m := range found {
		if m.unit.Dimension != found[0].unit.Dimension || m.unit.Factor != found[0].unit.Factor || m.exp != found[0].exp {
			return false
		}
	}
	return len(found) > 0
}

// checkAsWritten doubts what is written correctly but can hardly be meant: a
// lone m without a wanted time, and mHz where kHz or MHz are wanted.
func (s *scanner) checkAsWritten(m unitMatch, text string, w word) error {
	if text == "m" && s.wanted == nil {
		return s.failAt(w.pos, w.text, "min for minutes, or a unit after the prefix m")
	}
	if m.exp == -3 && m.unit.mTrap != "" && s.wanted != nil && s.wanted.exp >= 3 {
		return s.failAt(w.pos, w.text, "a unit nearer to "+s.wanted.label(false)+"; "+m.unit.mTrap)
	}
	return nil
}

// lonePrefix reads the k of 7065k.
func (s *scanner) lonePrefix(text string, w word) (unitMatch, bool, error) {
	for _, p := range prefixes {
		if !same(text, p.text, len(p.text) > 2) {
			continue
		}
		if s.wanted == nil {
			return unitMatch{}, false, s.failAt(w.pos, w.text, "a unit after the prefix")
		}
		u := s.wanted.unit
		if p.text == "m" && u.mTrap != "" {
			return unitMatch{}, false, s.failAt(w.pos, w.text, "a unit in full; "+u.mTrap)
		}
		if strings.Contains(u.Prefixes, p.letter) {
			return unitMatch{u, p.exp}, true, nil
		}
	}
	return unitMatch{}, false, nil
}

// checkTrap refuses an m that could stand for mega or micro: mhz, mohm, mf.
func (s *scanner) checkTrap(text string, w word) error {
	for _, u := range units {
		if u.mTrap == "" || s.wanted != nil && u.Dimension != s.wanted.unit.Dimension {
			continue
		}
		for _, name := range u.names() {
			rest, isM := strings.CutPrefix(text, "m")
			if !isM && !strings.Contains(u.Prefixes, "M") {
				rest, isM = strings.CutPrefix(text, "M")
			}
			if isM && strings.EqualFold(rest, name) {
				return s.failAt(w.pos, w.text, "a unit that can be read in one way only; "+u.mTrap)
			}
		}
	}
	return nil
}

// wrongUnit says that a unit is of the wrong kind, or not known.
func (s *scanner) wrongUnit(text string, w word) error {
	if s.wanted == nil {
		return s.failAt(w.pos, w.text, "a unit such as Hz, V, s, dBm or Ω")
	}
	expected := "a unit of " + s.wanted.unit.Dimension
	if label := s.wanted.label(false); label != "" {
		expected += " such as " + label
	}
	if m, ok := first(matchUnits(text, "", false)); ok {
		return s.failAt(w.pos, w.text, expected+" and not one of "+m.unit.Dimension)
	}
	return s.failAt(w.pos, w.text, expected)
}

var (
	qualifierAtEnd = regexp.MustCompile(`(?i)^(.+?)[ ,]*(e\.?m\.?f\.?|p\.?d\.?|d\.?c\.?|a\.?c\.?|r\.?m\.?s\.?)$`)
	qualifies      = map[string]bool{"voltage": true, "current": true, "level re 1 µV": true, "level re 1 V": true}
)

// splitQualifier parts "µV emf" into unit and "emf".
func splitQualifier(text string) (bare, qualifier string) {
	m := qualifierAtEnd.FindStringSubmatch(text)
	if m == nil {
		return text, ""
	}
	return m[1], strings.ToLower(strings.ReplaceAll(m[2], ".", ""))
}
