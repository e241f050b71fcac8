package sensitivity

import "strings"

// unsaid tells what was taken for granted where the run does not say it. With
// the carrier left on, as in AM and for SINAD, gain control stands still while
// the modulation goes; in CW it opens when the generator is switched off.
func (w *work) unsaid() {
	if w.raw.Options["mode"] == "" {
		w.note("mode is not stated: %s is taken", map[string]string{
			modeAM: "AM, the modulation on and off,", modeCW: "CW, the generator on and off,", modeSINAD: "SINAD of a tone"}[w.set.mode])
	}
	switch agc := strings.ToLower(w.raw.Options["agc"]); {
	case agc == "":
		w.note("whether AGC was off is not said")
	case agc != "off" && w.set.mode == modeCW:
		w.warn("AGC was not off: it turns the gain up when the signal goes, so that the set looks less sensitive than it is")
	}
}
