package web

import (
	"bytes"
	"math"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"setwright/internal/run"
)

// calibrateBy sends the form of a calibration with a recording of a tone.
func (b *bench) calibrateBy(fields map[string]string, file string) (status int, text string) {
	b.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for name, value := range fields {
		if err := form.WriteField(name, value); err != nil {
			b.t.Fatal(err)
		}
	}
	if file != "" {
		part, err := form.CreateFormFile(file, "tone.wav")
		if err != nil {
			b.t.Fatal(err)
		}
		if _, err := part.Write([]byte(hiss(3))); err != nil {
			b.t.Fatal(err)
		}
	}
	form.Close()
	r := request("POST", "/instruments/sound", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	w := b.send(r)
	return w.Code, w.Body.String()
}

// The sound input is calibrated from the page, by the tone of 0.1 of full scale
// that a recording holds; what is missing is asked for, and nothing half done.
func TestSoundInputIsCalibratedFromThePage(t *testing.T) {
	b := newBench(t)
	for problem, fields := range map[string]map[string]string{
		"Rms voltage is missing": {"name": "line input"},
		"its name is missing":    {"volts": "0.2 V"},
		"expected a time":        {"name": "line input", "volts": "0.2 V", "valid": "-3 d"},
	} {
		if status, text := b.calibrateBy(fields, "level"); status != http.StatusUnprocessableEntity || !strings.Contains(words(text), problem) {
			t.Errorf("status %d, expected the page to say %q: %s", status, problem, words(text))
		}
	}
	if status, text := b.calibrateBy(map[string]string{"name": "line input"}, ""); status != http.StatusUnprocessableEntity || !strings.Contains(words(text), "no recording to calibrate by") {
		t.Errorf("without a file: %d %s", status, words(text))
	}
	if status, text := b.calibrateBy(map[string]string{"name": "line input", "volts": "0.2 V", "volts-u": "2 %", "valid": "100 d"}, "level"); status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", status, words(text))
	}
	all, err := b.shop.Book.Instruments(t.Context())
	if err != nil || len(all) != 1 || all[0].Reads != run.ReadsSound || all[0].Sound == nil || math.Abs(all[0].Sound.FullScaleV-2) > 0.02 {
		t.Fatalf("%+v %v", all, err)
	}
	if text := b.get("/instruments", 200).Find("main").Text(); !strings.Contains(text, "full scale is a sine of 1.99") || !strings.Contains(text, "good until") {
		t.Errorf("the list says %q", text)
	}
}
