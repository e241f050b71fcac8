package quantity

import "testing"

func TestToldNumbersAreShort(t *testing.T) {
	p := Printer{Group: true}
	for _, c := range []struct {
		x      float64
		unit   string
		digits int
		want   string
	}{
		{1581.3, "s", 3, "26.4 min"}, {300, "s", 3, "5 min"}, {0, "Hz", 3, "0 Hz"}, {-1849, "Hz", 2, "−1.8 kHz"},
		{20, "Hz/h", 3, "20 Hz/h"}, {0.031, "1", 2, "0.031"}, {45.51, "s", 2, "46 s"}, {33.3333, "%", 3, "33.3 %"},
	} {
		if got := p.Told(c.x, c.unit, c.digits); got != c.want {
			t.Errorf("%g %s to %d digits: %q, want %q", c.x, c.unit, c.digits, got, c.want)
		}
	}
}
