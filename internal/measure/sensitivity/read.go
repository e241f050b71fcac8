package sensitivity

import (
	"math"

	"setwright/internal/measure"
	"setwright/internal/measure/settings"
	"setwright/quantity"
	"setwright/superhet"
)

// The modes.
const (
	modeAM    = "am"
	modeCW    = "cw"
	modeSINAD = "sinad"
)

// standardDepth is the depth of modulation that sensitivity_am is defined at.
const standardDepth = 0.3

// setup is the options of a run, read and checked; NaN where not given.
type setup struct {
	mode                    string
	dialHz                  float64
	depth, depthU           float64 // fraction; its relative standard uncertainty
	dummy                   superhet.Dummy
	padDB, padU             float64
	sourceOhm, inputOhm     float64
	volts                   string
	levelU, stepU, readingU float64 // dB
	averaging               bool
	surroundings            string
	band                    [2]float64 // 0, 0: all
	widthHz, widthU         float64
}

// read parses the options; a wrong one is refused with its name.
func read(raw measure.Raw) (setup, error) {
	r := settings.New(raw, Measurement{}.About())
	s := setup{
		mode: r.Word("mode"), dialHz: r.Number("dial"),
		depth: r.Number("modulation") / 100, depthU: r.Number("modulation_u") / 100,
		padDB: r.Number("pad"), padU: r.Number("pad_u"),
		sourceOhm: r.Number("source_resistance"), inputOhm: r.Number("input_resistance"), volts: r.Word("voltage_is"),
		levelU: r.Number("level_u"), stepU: r.Number("step_u"), readingU: r.Number("reading_u"),
		averaging: r.Word("meter") == "average", surroundings: r.Word("surroundings"),
		widthHz: r.Number("noise_bandwidth"),
	}
	var err error
	if s.dummy, err = superhet.FindDummy(r.Word("dummy")); err == nil {
		s.dummy.Tolerance = r.Number("dummy_u") / 100
	}
	band := r.Numbers("band")
	if r.Err() != nil {
		return s, r.Err()
	}
	if s.volts == "" {
		if c := raw.Series.Column("input"); c != nil {
			s.volts = superhet.VoltsAsTyped(c.Text)
		}
	}
	if s.mode == "" {
		s.mode = guessMode(raw, r.Word("bfo"))
	}
	switch {
	case err != nil:
		return s, refused(err.Error()+" as dummy antenna", "")
	case s.depth <= 0 || s.depth > 1:
		return s, refused("a modulation depth of "+quantity.FormatNumber(100*s.depth, "%"), "more than 0 and at most 100 %")
	case s.padDB < 0 || s.padU < 0 || s.stepU < 0 || s.depthU < 0 || s.dummy.Tolerance < 0:
		return s, refused("a loss or an uncertainty below zero", "zero or more")
	case len(band) != 0 && (len(band) != 2 || band[0] >= band[1]):
		return s, refused("an audio band that is not one", "its lowest and its highest frequency, such as 100 Hz, 4 kHz")
	}
	if len(band) == 2 {
		s.band = [2]float64{band[0], band[1]}
	}
	s.readWidth(raw)
	return s, nil
}

// refused is a refusal that belongs to no row.
func refused(found, expected string) error {
	return &measure.Refusal{Row: -1, Found: found, Expected: expected}
}

// readWidth takes the uncertainty of the noise bandwidth as typed after ±, else
// a tenth of it.
func (s *setup) readWidth(raw measure.Raw) {
	if math.IsNaN(s.widthHz) {
		return
	}
	s.widthU = s.widthHz / 10
	if q, err := quantity.ParseAs(raw.Options["noise_bandwidth"], "Hz"); err == nil && q.PlusMinus > 0 {
		s.widthU = q.PlusMinus
	}
}

// guessMode is the mode where it is not stated.
func guessMode(raw measure.Raw, bfo string) string {
	has := func(role string) bool { return hasValues(raw, role) }
	switch {
	case has("sinad") && !(has("output_on") && has("output_off")):
		return modeSINAD
	case bfo == "on":
		return modeCW
	}
	for _, rec := range raw.OfRole("output") {
		switch rec.Label(recordings[0], "signal") {
		case "modulated", "unmodulated":
			return modeAM
		case "off":
			return modeCW
		}
	}
	return modeAM
}

// hasValues says whether a column holds a number at all.
func hasValues(raw measure.Raw, role string) bool {
	c := raw.Series.Column(role)
	if c == nil {
		return false
	}
	for _, x := range c.Values {
		if !math.IsNaN(x) {
			return true
		}
	}
	return false
}

// target is one level of over noise, or SINAD, that a figure is defined at.
type target struct {
	id string
	dB float64
}

// targets are those of a mode, the main one first.
func targets(mode string) []target {
	switch mode {
	case modeCW:
		return []target{{"sensitivity_cw", 10}, {"mds", 3}}
	case modeSINAD:
		return []target{{"sensitivity_sinad", 12}}
	}
	return []target{{"sensitivity_am", 10}}
}

// reading is how levels of the generator are read.
func (s setup) reading(raw measure.Raw) superhet.Reading {
	return superhet.Reading{SourceOhm: s.sourceOhm, Volts: s.volts, Source: quantity.RunSource(raw.RunID, "level").Source("level as typed", 0)}
}
