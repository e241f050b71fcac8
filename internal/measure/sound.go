package measure

import (
	"fmt"
	"math"
	"time"

	"setwright/internal/run"
	"setwright/quantity"
)

// uncalibratedRateU is one standard uncertainty of a sample rate that nobody
// checked: ordinary sound cards keep within about 100 ppm (a public note on
// sound-card clocks, second-hand), taken as a rectangular distribution.
var uncalibratedRateU = quantity.RectangularU(2 * 100e-6)

// SoundScale turns what a recording holds into hertz, seconds and volts by the
// calibration of the run's sound input, and says what that leaves unknown.
type SoundScale struct {
	input run.Instrument
	sound run.Sound
	known bool // there is a calibration
	runID string
	at    time.Time
}

// SoundScale returns the scale of the run's sound input, calibrated or not. at
// is when it was recorded, zero where that is not known.
func (r Raw) SoundScale(at time.Time) SoundScale {
	s := SoundScale{runID: r.RunID, at: at}
	if in, ok := r.Setup.SoundInput(); ok {
		s.input = in
		if in.Sound != nil {
			s.sound, s.known = *in.Sound, true
		}
	}
	return s
}

// rate is the source of the sample rate's error and its standard uncertainty as
// a fraction.
func (s SoundScale) rate() (quantity.Source, float64) {
	if s.known && s.sound.RateErrorU > 0 {
		return s.key("sample rate").Source("sample rate of "+s.input.Name, s.input.DoF), s.sound.RateErrorU
	}
	if s.input.ID != "" {
		return s.key("sample rate").Source("sample rate of "+s.input.Name+", not calibrated", 0), uncalibratedRateU
	}
	return quantity.RunSource(s.runID, "sample rate").Source("sample rate of the sound input, not calibrated", 0), uncalibratedRateU
}

func (s SoundScale) key(what string) quantity.SourceKey {
	return quantity.SourceKey{Kind: quantity.FromInstrument, Of: s.input.ID, Epoch: s.input.Epoch, Quantity: what, Cell: s.input.Cell}
}

// rateCalibrated says whether the sample rate was measured.
func (s SoundScale) rateCalibrated() bool { return s.known && s.sound.RateErrorU > 0 }

// rateError is the known part of the sample rate's error.
func (s SoundScale) rateError() float64 {
	if s.rateCalibrated() {
		return s.sound.RateError
	}
	return 0
}

// Hz returns the true frequency of a tone that by the nominal sample rate is
// hz, and what the sample rate brings to it.
func (s SoundScale) Hz(hz float64) (float64, []quantity.Contribution) {
	src, u := s.rate()
	return hz * (1 + s.rateError()), []quantity.Contribution{{Source: src, C: hz * u}}
}

// Seconds returns the true length of what by the nominal sample rate is t
// seconds. A clock that runs fast makes frequencies read low and times long, so
// the contribution has the other sign.
func (s SoundScale) Seconds(t float64) (float64, []quantity.Contribution) {
	src, u := s.rate()
	return t / (1 + s.rateError()), []quantity.Contribution{{Source: src, C: -t * u}}
}

// Volts returns the rms voltage of what is rms re full scale (a full-scale sine
// has 1/√2); ok is false where the input was not calibrated in level.
func (s SoundScale) Volts(rms float64) (volts float64, parts []quantity.Contribution, ok bool) {
	if !s.known || s.sound.FullScaleV <= 0 {
		return 0, nil, false
	}
	volts = rms * math.Sqrt2 * s.sound.FullScaleV
	src := s.key("level").Source("level calibration of "+s.input.Name, s.input.DoF)
	return volts, []quantity.Contribution{{Source: src, C: volts * s.sound.FullScaleRelativeU}}, true
}

// OwnDistortion is the distortion of the input itself by loop-back: harmonics 2
// to 10 over the fundamental.
func (s SoundScale) OwnDistortion() (fraction float64, known bool) {
	return s.sound.OwnDistortion, s.known && s.sound.OwnDistortion > 0
}

// FloorDensity is the input's own noise in full-scale² per hertz.
func (s SoundScale) FloorDensity() (density float64, known bool) {
	return s.sound.FloorDensity, s.known && s.sound.FloorDensity > 0
}

// Warnings says what the reader of figures from sound should worry about.
func (s SoundScale) Warnings() []string {
	if !s.known {
		return nil
	}
	switch {
	case s.sound.Expired(s.at):
		return []string{fmt.Sprintf("the calibration of %s ran out on %s, before this was recorded: calibrate it again", s.input.Name, s.sound.Expires.Format("2 January 2006"))}
	case !s.at.IsZero() && !s.sound.Made.IsZero() && s.at.Before(s.sound.Made.AddDate(-1, 0, 0)):
		return []string{fmt.Sprintf("%s was calibrated on %s, more than a year after this was recorded", s.input.Name, s.sound.Made.Format("2 January 2006"))}
	}
	return nil
}

// Notes says what is assumed of the sound input.
func (s SoundScale) Notes() []string {
	if s.rateCalibrated() {
		return nil
	}
	return []string{"the sample rate of the sound input was not calibrated: taken as right within 100 parts in a million"}
}
