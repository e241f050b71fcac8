package selectivity

import (
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/settings"
)

// setting is the options of an analysis, read and checked. Numbers not given
// are NaN.
type setting struct {
	method      string
	nominalHz   float64
	agc         string
	attenuator  float64
	square      bool
	detectorU   float64
	floor       string
	detection   string
	bfoOffsetHz float64
	bfoOffsetU  float64
	bfoSide     string
	audioFromHz float64
	audioToHz   float64
	filter      string
	where       string
	limiter     string
}

// read parses the options of a run; a wrong one is refused with its name.
func read(raw measure.Raw) (setting, error) {
	p := settings.New(raw, Measurement{}.About())
	s := setting{
		method: p.Word("method"), nominalHz: p.Number("nominal"), agc: p.Word("agc"),
		attenuator: p.Number("attenuator"), square: p.Word("detector") == "square", detectorU: p.Number("detector_u"),
		floor: p.Word("floor"), detection: p.Word("detection"), bfoOffsetHz: p.Number("bfo_offset"), bfoOffsetU: p.Number("bfo_offset_u"), bfoSide: p.Word("bfo_side"),
		audioFromHz: p.Number("audio_from"), audioToHz: p.Number("audio_to"),
		filter: p.Word("filter"), where: p.Word("where"), limiter: p.Word("limiter"),
	}
	if !math.IsNaN(s.bfoOffsetHz) && s.bfoOffsetHz != 0 {
		side := "above"
		if s.bfoOffsetHz < 0 {
			side = "below"
		}
		if s.bfoSide != "" && s.bfoSide != side {
			return s, refuse("bfo_side", s.bfoSide, side+", as the BFO offset has it")
		}
		s.bfoSide = side
	}
	if p.Err() == nil && s.audioToHz <= s.audioFromHz {
		return s, refuse("audio_to", "a frequency not above the lowest", "one above it")
	}
	return s, p.Err()
}

// refuse is the refusal of one option.
func refuse(name, found, expected string) error {
	return &measure.Refusal{Row: -1, Found: fmt.Sprintf("%s in the option %q", found, name), Expected: expected}
}
