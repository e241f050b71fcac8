package intake

import "testing"

// TestUnitsInLogs tries the spellings of headings and cells.
func TestUnitsInLogs(t *testing.T) {
	for _, c := range []struct {
		name, base string
		scale, add float64
		want       string
	}{
		{"kHz", "", 1e3, 0, "Hz"}, {"khz", "", 1e3, 0, "Hz"}, {"mhz", "", 1e6, 0, "Hz"}, {"Mc/s", "", 1e6, 0, "Hz"},
		{"c/s", "", 1, 0, "Hz"}, {"KC", "", 1e3, 0, "Hz"}, {"kc/s", "Hz", 1e3, 0, "Hz"},
		{"min", "", 60, 0, "s"}, {"m", "s", 60, 0, "s"}, {"'", "s", 60, 0, "s"}, {"Stunden", "", 3600, 0, "s"}, {"ms", "", 1e-3, 0, "s"},
		{"°C", "", 1, 0, "°C"}, {"deg C", "", 1, 0, "°C"}, {"K", "°C", 1, -273.15, "°C"}, {"F", "°C", 5. / 9, -160. / 9, "°C"},
		{"VAC", "", 1, 0, "V"}, {"mV", "", 1e-3, 0, "V"}, {"µV", "V", 1e-6, 0, "V"}, {"dBm", "", 1, 0, "dBm"}, {"%", "", 1e-2, 0, "1"},
	} {
		u, ok := lookUpUnit(c.name, c.base)
		if !ok || u.scale() != c.scale || u.add != c.add || u.base != c.want {
			t.Errorf("%q among %q: %+v %v, want %v x + %v %s", c.name, c.base, u, ok, c.scale, c.add, c.want)
		}
	}
	for _, c := range [][2]string{{"kHz", "s"}, {"furlong", ""}, {"", ""}, {"s", "Hz"}} {
		if u, ok := lookUpUnit(c[0], c[1]); ok {
			t.Errorf("%q among %q: got %+v, want none", c[0], c[1], u)
		}
	}
}
