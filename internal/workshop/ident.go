package workshop

import (
	"fmt"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Handle makes a short handle from a name: lower case, letters and digits of
// the Latin alphabet, hyphens between words. "Régulateur n° 2" gives
// "regulateur-n-2". A name without any letter or digit gives "".
func Handle(name string) string {
	var b strings.Builder
	gap := false
	for _, r := range norm.NFKD.String(strings.ToLower(name)) {
		switch {
		case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			if gap && b.Len() > 0 {
				b.WriteByte('-')
			}
			gap = false
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r):
			// an accent that the decomposition set apart
		default:
			gap = true
		}
	}
	return b.String()
}

// freeHandle returns base, or base-2, base-3 ... : the first that taken does
// not have.
func freeHandle(base string, taken func(string) bool) string {
	if !taken(base) {
		return base
	}
	for n := 2; ; n++ {
		if h := fmt.Sprintf("%s-%d", base, n); !taken(h) {
			return h
		}
	}
}

// named refuses an empty name, saying what is missing.
func named(what, name string) (string, error) {
	name = strings.TrimSpace(name)
	if Handle(name) == "" {
		return "", fmt.Errorf("%s needs a name with at least one letter or digit, found %q", what, name)
	}
	return name, nil
}
