package superhet

import (
	"math"
	"testing"

	"setwright/quantity"
)

func TestSMeterTable(t *testing.T) {
	for _, r := range rows(t, "rf-smeter.csv") {
		for hz, column := range map[float64]string{7e6: "dBm_below_30MHz", 145e6: "dBm_above_30MHz"} {
			level, err := SMeterLevel(r["reading"], hz)
			if err != nil {
				t.Fatal(err)
			}
			printed(t, r, column, level)
			if got, want := SMeter(level, hz), r["reading"]; got != want && got != want+" dB" {
				t.Errorf("%g dBm reads %s, expected %s", level, got, want)
			}
		}
		level, _ := SMeterLevel(r["reading"], 7e6)
		micro := 1e6 * Level{quantity.Exact(level), 50}.MatchedPD().Estimate()
		printed(t, r, "uV_50ohm_exact", micro)
		halved := number(t, r, "uV_50ohm_from_50uV")
		near(t, "tables that halve 50 µV", micro/halved, 1, 0.021)
	}
	near(t, "Blake 6.11: 50 µV less 18 dB, µV", 50*math.Pow(10, -18./20), 6.295, 5.1e-4)
	if got := SMeter(FromPD(quantity.Exact(6.295e-6), 50).DBm.Estimate(), 7e6); got != "S6" {
		t.Errorf("6.295 µV reads %s, expected S6", got)
	}
	if SMeter(-140, 7e6) != "below S1" || SMeter(math.NaN(), 7e6) != "" {
		t.Error("what is below the scale")
	}
	for _, bad := range []string{"", "S0", "S10", "7", "S7+10", "S9+", "S9+-3", "Q5"} {
		if _, err := SMeterLevel(bad, 7e6); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}
