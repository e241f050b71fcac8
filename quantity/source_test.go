package quantity

import (
	"testing"

	"pgregory.net/rapid"
)

func TestSourceIDs(t *testing.T) {
	for want, k := range map[string]SourceKey{
		"instrument/counter-1/2026-03-01/frequency":            {FromInstrument, "counter-1", "2026-03-01", "frequency", ""},
		"instrument/generator-1/2026-03-01/level/-107dBm@7MHz": {FromInstrument, "generator-1", "2026-03-01", "level", "-107dBm@7MHz"},
		"instrument/meter-1//voltage/0%2F250V":                 {FromInstrument, "meter-1", "", "voltage", "0/250V"},
		"run/17/noise":                                         RunSource("17", "noise"),
		"run/17/noise/7MHz":                                    {FromRun, "17", "", "noise", "7MHz"},
		"set/whimbrel":                                         {Kind: FromSet, Of: "whimbrel"},
		"run/a%20b/50%25%2Fµ":                                  RunSource("a b", "50%/µ"),
	} {
		if got := k.ID(); got != want {
			t.Errorf("%+v: id %q, want %q", k, got, want)
		}
		if back, err := ParseSourceKey(want); err != nil || back != k {
			t.Errorf("%q reads back as %+v, %v", want, back, err)
		}
	}
}

func TestDifferentKeysHaveDifferentIDsThatParseBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		field := rapid.OneOf(rapid.StringMatching(`[a-z/% ]{0,4}`), rapid.String(),
			rapid.Map(rapid.SliceOfN(rapid.Byte(), 0, 4), func(b []byte) string { return string(b) }))
		k := SourceKey{
			Kind:  rapid.SampledFrom([]string{FromInstrument, FromRun, "a/b", "run/"}).Draw(t, "kind"),
			Of:    field.Draw(t, "of"),
			Epoch: field.Draw(t, "epoch"), Quantity: field.Draw(t, "quantity"), Cell: field.Draw(t, "cell"),
		}
		if k.Kind == FromRun {
			k.Epoch = ""
		}
		if back, err := ParseSourceKey(k.ID()); err != nil || back != k {
			t.Fatalf("%+v has id %q, which reads back as %+v, %v", k, k.ID(), back, err)
		}
	})
}

func TestSourceIDsThatNobodyWroteAreRefused(t *testing.T) {
	for _, id := range []string{"", "/x", "instrument/a/b/c/d/e", "run/1/noise/x/y", "instrument/a b", "instrument/%2", "instrument/%", "instrument/%G1", "instrument/%+1", "instrument/%41", "set/x/"} {
		if k, err := ParseSourceKey(id); err == nil {
			t.Errorf("%q was read as %+v", id, k)
		}
	}
}
