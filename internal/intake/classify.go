package intake

// kind is what a single cell looks like.
type kind uint8

const (
	kindBlank kind = iota
	kindNumber
	kindQuantity // a number with its unit
	kindWords    // 10 min, 14m20s
	kindColon2   // a:bb
	kindColon3   // a:bb:cc
	kindStamp
	kindDate
	kindText
	kinds
)

// classify says what a cell looks like.
func classify(cell []byte, f numFormat) kind {
	if len(cell) == 0 {
		return kindBlank
	}
	_, took := scanNumber(cell, f, 0)
	if took == len(cell) || notFinite(cell) {
		return kindNumber
	}
	if isMissing(cell, defaultMissing) {
		return kindBlank
	}
	if k, ok := classifyTime(cell); ok {
		return k
	}
	if rest := trim(cell[took:]); took > 0 && len(rest) <= 16 {
		if _, ok := lookUpUnit(string(rest), ""); ok {
			return kindQuantity
		}
	}
	return kindText
}

func classifyTime(cell []byte) (kind, bool) {
	for _, order := range []dateOrder{dayFirst, monthFirst} {
		if s, took := scanStamp(cell, order, true); whole(cell, took) {
			if _, _, _, d := scanDate(cell, order); whole(cell, d) && s.decimals < 0 {
				return kindDate, true
			}
			return kindStamp, true
		}
	}
	d, took := scanElapsed(cell, false)
	if !whole(cell, took) {
		d, took = scanClock(cell)
	}
	if !whole(cell, took) {
		return kindText, false
	}
	return [...]kind{0: kindWords, 2: kindColon2, 3: kindColon3}[d.parts], true
}
