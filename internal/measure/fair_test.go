package measure

import (
	"strings"
	"testing"
)

// filterAbout is an invented measurement in which the filter is judged by its
// bandwidth between two sets.
var filterAbout = About{Fair: []FairSpec{
	{Name: "filter", Title: "the selectivity setting", OfSet: true, By: "bandwidth"},
	{Name: "bandwidth", Title: "bandwidth", Unit: "Hz", Relative: true, Tolerance: 0.1, Limit: 1},
}}

func runWith(options ...string) Raw {
	r := Raw{Options: map[string]string{}}
	for i := 0; i+1 < len(options); i += 2 {
		r.Options[options[i]] = options[i+1]
	}
	return r
}

// Two sets mark their filters differently: "sharp" of one may be as wide as "3"
// of the other. The bandwidth says so; of one set, another word is another
// filter.
func TestFiltersOfTwoSetsAreJudgedByTheirBandwidth(t *testing.T) {
	sharp := []Raw{runWith("filter", "sharp", "bandwidth", "3 kHz")}
	for _, c := range []struct {
		name          string
		b             Raw
		two, blocked  bool
		alike, expect string
	}{
		{"another set, as wide", runWith("filter", "3", "bandwidth", "3.1 kHz"), true, false, "by bandwidth", ""},
		{"another set, wider", runWith("filter", "3", "bandwidth", "6 kHz"), true, false, "by bandwidth", "Bandwidth differs"},
		{"another set, width not recorded", runWith("filter", "3"), true, false, "not known", "bandwidth is not recorded on both"},
		{"one set, another position", runWith("filter", "broad", "bandwidth", "3 kHz"), false, true, "unlike", "differs"},
		{"one set, the same", runWith("filter", "sharp", "bandwidth", "3 kHz"), false, false, "alike", ""},
	} {
		f := CheckFair(filterAbout, sharp, []Raw{c.b}, c.two)
		var said []string
		for _, x := range f.Findings {
			said = append(said, x.Text)
		}
		text := strings.Join(said, "\n")
		if f.Blocked != c.blocked || f.Table[0].Alike != c.alike || !strings.Contains(text, c.expect) || c.expect == "" && text != "" {
			t.Errorf("%s: blocked %v, %s: %s", c.name, f.Blocked, f.Table[0].Alike, text)
		}
	}
	mixed := []Raw{runWith("filter", "3"), runWith("filter", "1")}
	if f := CheckFair(filterAbout, sharp, mixed, true); !f.Blocked {
		t.Error("runs of one set at two filters on one side were called fair")
	}
}
