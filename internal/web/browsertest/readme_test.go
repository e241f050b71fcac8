//go:build browser

package browsertest

import (
	"os"
	"path/filepath"
	"testing"

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
	b.do(chromedp.EmulateViewport(1100, 860))
	for name, path := range map[string]string{
		"run":          "/runs/turnstone-drift-2024-01-17",
		"modification": "/modifications/turnstone/compensating-pair",
		"compare":      "/compare?a=turnstone/as-found&b=turnstone/pair-fitted",
		"type":         "/type/" + b.typed,
		"import":       b.upload("monday.csv", decimalCommas),
	} {
		b.visit(path)
		ask[bool](b, `document.fonts.ready.then(() => true)`)
		data, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
		check(t, err)
		check(t, os.WriteFile(filepath.Join(dir, name+".png"), data, 0o644))
	}
}

// decimalCommas is an invented log in a dialect of its own.
const decimalCommas = "Zeit;Frequenz/kHz;Raum/°C\r\n07:40:20;8.508,7214;17,9\r\n07:40:40;8.508,8040;17,9\r\n07:41:00;8.508,8851;17,8\r\n07:41:20;8.508,9637;17,9\r\n07:41:40;8.509,0398;18,0\r\n07:42:00;8.509,1150;18,0\r\n"
