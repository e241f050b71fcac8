package typeface

import (
	"testing"

	"golang.org/x/image/font/sfnt"
)

// Every face must have the signs that figures are printed with: without them a
// page falls back to whatever font the machine has, and columns no longer line up.
func TestFacesHaveTheSignsOfTheTrade(t *testing.T) {
	for _, f := range Faces() {
		font, err := sfnt.Parse(f.Data)
		if err != nil {
			t.Fatalf("%s: %v", f.File, err)
		}
		var buf sfnt.Buffer
		signs := "0123456789−±µΩτσ·°×–"
		if f.Family == Sans {
			signs += "→≤≥" // labels and tables only
		}
		for _, r := range signs {
			if i, err := font.GlyphIndex(&buf, r); err != nil || i == 0 {
				t.Errorf("%s has no %q", f.File, r)
			}
		}
	}
}
