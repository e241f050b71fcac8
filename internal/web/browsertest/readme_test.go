//go:build browser

package browsertest

import (
	"net/url"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// TestReadmePictures makes the pictures of the README anew from the invented
// scenario: `make pictures`.
func TestReadmePictures(t *testing.T) {
	dir := os.Getenv("SETWRIGHT_PICTURES")
	if dir == "" {
		t.Skip("SETWRIGHT_PICTURES names no folder; make pictures does")
	}
	check(t, os.MkdirAll(dir, 0o755))
	b := told(t)
	picture := func(name string) {
		ask[bool](b, `document.fonts.ready.then(() => true)`)
		data, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
		check(t, err)
		check(t, os.WriteFile(filepath.Join(dir, name+".png"), data, 0o644))
	}
	for name, path := range map[string]string{
		"run":          "/runs/turnstone-drift-2024-01-17",
		"modification": "/modifications/turnstone/compensating-pair",
		"compare":      "/compare?a=turnstone/as-found&b=turnstone/pair-fitted",
		"type":         "/type/" + b.typed,
		"import":       b.upload("monday.csv", decimalCommas),
		"sensitivity":  "/runs/turnstone-sensitivity-2024-04-03",
		"agc":          "/runs/whimbrel-agc-2024-04-03",
		"recording":    "/runs/turnstone-drift-2024-04-03/recordings/1",
	} {
		height := int64(860)
		if name == "recording" {
			height = 1560 // down to the spectrogram
		}
		b.do(chromedp.EmulateViewport(1100, height))
		b.visit(path)
		b.until(`document.querySelector("h1") && !document.querySelector("[data-job]")`)
		picture(name)
	}
	b.pictureLive(picture)
}

// pictureLive makes the picture of live sound: a known sound plays in the place
// of the sound input.
func (b *bench) pictureLive(picture func(name string)) {
	file := filepath.Join(b.t.TempDir(), "known.wav")
	writeSound(b.t, file, knownSound())
	b.browser(chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-audio-capture", file))
	b.do(chromedp.EmulateViewport(1100, 960))
	q := url.Values{"state": {b.shelfState()}, "measurement": {"sensitivity"}, "label 0 input": {"-73 dBm"}, "label 0 signal": {"on"}}
	b.visit("/listen/live?" + q.Encode())
	space := chromedp.KeyEvent(" ")
	b.do(space)
	b.until(`document.querySelector("live-sound.running")`)
	b.until(`parseFloat(document.querySelector("[data-show=elapsed]").textContent.split(":")[1]) >= 3`)
	picture("live")
	b.do(space, chromedp.Sleep(100*time.Millisecond), space) // pressed twice: the end
	b.until(`location.pathname.startsWith("/runs/")`)
}

// decimalCommas is an invented log in a dialect of its own.
const decimalCommas = "Zeit;Frequenz/kHz;Raum/°C\r\n07:40:20;8.508,7214;17,9\r\n07:40:40;8.508,8040;17,9\r\n07:41:00;8.508,8851;17,8\r\n07:41:20;8.508,9637;17,9\r\n07:41:40;8.509,0398;18,0\r\n07:42:00;8.509,1150;18,0\r\n"
