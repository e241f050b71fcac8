package quantity

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Kinds of sources that the bench knows. Others may be used.
const (
	FromInstrument = "instrument" // an error of an instrument, common to all it measures in a cell
	FromRun        = "run"        // noise, resolution, fit: of one run alone
	FromSet        = "set"        // the set itself, as its scatter from run to run
	FromMethod     = "method"     // an assumption that a method makes
	FromReference  = "reference"  // a published constant or table value
)

// SourceKey says what a source of uncertainty is. Two figures share an error
// when their keys are equal, so a key must say all that makes the error one and
// the same:
//
//   - Kind: what sort of thing brings it;
//   - Of: which one: the instrument's, the run's or the set's id;
//   - Epoch: of which calibration of the instrument; after a new one the error
//     is a new draw;
//   - Quantity: which of its errors: "frequency", "level", "noise";
//   - Cell: the cell of range and frequency within which the error may be taken
//     as common, such as "-107dBm@7MHz"; empty where it is common to all.
//
// A run is its own epoch: with Kind [FromRun] the Epoch is not used.
type SourceKey struct {
	Kind, Of, Epoch, Quantity, Cell string
}

// RunSource returns the key of a source that belongs to one run alone, such as
// its noise; its id is "run/<id>/<what>".
func RunSource(runID, what string) SourceKey {
	return SourceKey{Kind: FromRun, Of: runID, Quantity: what}
}

// ID returns the id "kind/of/epoch/quantity/cell" ("run/of/quantity/cell" for a
// run) without empty fields at its end. A slash, per cent sign, space, control
// character or stray byte in a field is written as %XX, so that different keys
// have different ids.
func (k SourceKey) ID() string {
	fields := []string{k.Kind, k.Of, k.Epoch, k.Quantity, k.Cell}
	if k.Kind == FromRun {
		fields = []string{k.Kind, k.Of, k.Quantity, k.Cell}
	}
	for len(fields) > 1 && fields[len(fields)-1] == "" {
		fields = fields[:len(fields)-1]
	}
	for i, f := range fields {
		fields[i] = escapeField(f)
	}
	return strings.Join(fields, "/")
}

// Source returns the source with this key's id, a name for people and the
// degrees of freedom of its standard deviation (0 for infinitely many).
func (k SourceKey) Source(name string, dof float64) Source {
	return Source{ID: k.ID(), Name: name, DoF: dof}
}

// ParseSourceKey reads an id back. It refuses what [SourceKey.ID] never writes.
func ParseSourceKey(id string) (SourceKey, error) {
	var k SourceKey
	fields := strings.Split(id, "/")
	into := []*string{&k.Kind, &k.Of, &k.Epoch, &k.Quantity, &k.Cell}
	if fields[0] == FromRun {
		into = []*string{&k.Kind, &k.Of, &k.Quantity, &k.Cell}
	}
	if len(fields) > len(into) {
		return SourceKey{}, fmt.Errorf("source id %q has %d fields, at most %d expected (a slash within a field is written %%2F)",
			id, len(fields), len(into))
	}
	for i, f := range fields {
		text, err := unescapeField(f)
		if err != nil {
			return SourceKey{}, fmt.Errorf("source id %q, field %d: %v", id, i+1, err)
		}
		*into[i] = text
	}
	if k.Kind == "" || k.ID() != id {
		return SourceKey{}, fmt.Errorf("source id %q is not as written by this program; it would be %q", id, k.ID())
	}
	return k, nil
}

func escapeField(s string) string {
	var b strings.Builder
	for len(s) > 0 {
		r, n := utf8.DecodeRuneInString(s)
		stray := r == utf8.RuneError && n == 1
		if stray || r <= ' ' || r == 0x7f || r == '/' || r == '%' {
			fmt.Fprintf(&b, "%%%02X", s[0])
		} else {
			b.WriteString(s[:n])
		}
		s = s[n:]
	}
	return b.String()
}

// unescapeField reads back what escapeField wrote: %XX is the byte XX.
func unescapeField(s string) (string, error) {
	var b strings.Builder
	for {
		plain, rest, found := strings.Cut(s, "%")
		b.WriteString(plain)
		if !found {
			return b.String(), nil
		}
		code := rest[:min(2, len(rest))]
		v, err := strconv.ParseUint(code, 16, 8)
		if err != nil || len(code) < 2 {
			return "", fmt.Errorf("found %q, expected %% and two hexadecimal digits", "%"+code)
		}
		b.WriteByte(byte(v))
		s = rest[2:]
	}
}
