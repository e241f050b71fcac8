package web

import (
	"net/url"
	"testing"
)

// The error of a generator's level is in decibels, though the level is in dBm.
func TestErrorOfALevelIsInDecibels(t *testing.T) {
	in, err := instrumentOf(url.Values{"name": {"generator"}, "reads": {"input"}, "absolute": {"0.8 dB"}}, map[string]string{"input": "dBm"})
	if err != nil || in.Absolute != 0.8 {
		t.Errorf("%+v, %v", in, err)
	}
	if _, err := instrumentOf(url.Values{"name": {"counter"}, "reads": {"frequency"}, "absolute": {"0.8 dB"}}, map[string]string{"frequency": "Hz"}); err == nil {
		t.Error("0.8 dB taken for an error of a frequency")
	}
}
