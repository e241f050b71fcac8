package measure

import (
	"math"
	"testing"
	"time"

	"setwright/internal/run"
	"setwright/quantity"
)

// A card whose clock runs 50 ppm fast takes more samples a second than it says,
// so a tone of 1000 Hz comes out 0.05 Hz low by the nominal rate.
func TestFastCardIsPutRight(t *testing.T) {
	raw := Raw{RunID: "r", Setup: run.Setup{Instruments: []run.Instrument{{ID: "card-1", Name: "sound card", Epoch: "2026", Reads: run.ReadsSound,
		Sound: &run.Sound{RateError: 50e-6, RateErrorU: 1e-6, FullScaleV: 2, FullScaleRelativeU: 0.01, Made: day(2026, 1), Expires: day(2026, 7)}}}}}
	s := raw.SoundScale(day(2026, 3))
	hz, parts := s.Hz(999.95)
	if v := quantity.New(hz, parts...); math.Abs(hz-1000) > 1e-4 || math.Abs(v.U()-1e-3) > 1e-6 {
		t.Errorf("tone %v ± %v, want 1000 ± 0.001", hz, v.U())
	}
	if sec, _ := s.Seconds(1000); math.Abs(sec-999.95) > 1e-4 {
		t.Errorf("1000 s of samples last %v s, want 999.95", sec)
	}
	if v, parts, ok := s.Volts(0.5 / math.Sqrt2); !ok || math.Abs(v-1) > 1e-12 || math.Abs(parts[0].C-0.01) > 1e-12 {
		t.Errorf("half scale is %v V %v", v, parts)
	}
	if len(s.Warnings()) != 0 || len(raw.SoundScale(day(2026, 8)).Warnings()) != 1 {
		t.Error("a calibration must be warned of from the day it runs out, not before")
	}
}

func TestUncheckedCardIsSaidToBe(t *testing.T) {
	s := Raw{RunID: "r"}.SoundScale(time.Time{})
	hz, parts := s.Hz(1000)
	if hz != 1000 || len(parts) != 1 || math.Abs(parts[0].C-0.0577) > 1e-3 {
		t.Errorf("%v %v, want 1000 with 58 ppm", hz, parts)
	}
	if _, _, ok := s.Volts(1); ok || len(s.Notes()) != 1 {
		t.Error("no volts without a calibration, and a note")
	}
}

func day(year, month int) time.Time {
	return time.Date(year, time.Month(month), 1, 0, 0, 0, 0, time.UTC)
}
