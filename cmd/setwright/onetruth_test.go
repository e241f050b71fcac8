package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"setwright/internal/workshop/shoptest"
)

// truth is a measurement with data that give figures: what is typed after the
// kind, files of the test's folder among it.
type truth struct {
	kind string
	args []string
}

// truths are readings and recordings of every measurement, all invented.
func truths(t *testing.T, dir string) []truth {
	t.Helper()
	logs := map[string]string{
		"cw.csv":     "level dBm,on V,off V\n-134,0.1123,0.1\n-131,0.1234,0.1\n-128,0.1428,0.1\n-125,0.1754,0.1\n-122,0.2268,0.1\n-119,0.3044,0.1\n-116,0.4182,0.1\n",
		"agc.csv":    "input dBm,output dB\n-110,-30\n-100,-20\n-90,-10\n-80,-5\n-70,-4\n-60,-3\n-50,-2.5\n-40,-2\n-30,-1.8\n",
		"pass.csv":   "frequency kHz,output dB\n600,-60\n605,-30\n608,-8\n610,-2\n612,0\n614,-2\n616,-8\n619,-30\n624,-60\n",
		"audio.csv":  "frequency Hz,output V\n50,0.1\n100,0.3\n400,1\n1000,1.1\n2000,1\n4000,0.4\n",
		"bfo.csv":    "position,beat Hz\n0,-3200\n0,-3190\n10,3100\n10,3095\n",
		"warm.csv":   "t_s,f_hz\n" + warmRows(),
		"on.wav":     shoptest.Recorded(5, 0.1, 0.02),
		"off.wav":    shoptest.Recorded(5, 0, 0.02),
		"tone.wav":   shoptest.Recorded(90, 0.3, 0.001),
		"hiss.wav":   shoptest.Hiss(30, 800, 2200),
		"steps.wav":  shoptest.Stepped(60, 6),
		"fading.wav": shoptest.Fading(30, 1),
	}
	for name, data := range logs {
		writeFile(t, dir, name, data)
	}
	return []truth{
		{"sensitivity", []string{"cw.csv", "--bfo", "on", "--noise-bandwidth", "2.4 kHz", "--dummy", "standard", "--dial", "7.1 MHz", "--surroundings", "rural"}},
		{"sensitivity", []string{"on.wav@input=-107dBm,signal=on", "off.wav@input=-107dBm,signal=off", "--bfo", "on"}},
		{"agc", []string{"agc.csv"}},
		{"agc", []string{"steps.wav"}},
		{"agc", []string{"fading.wav@as=fading,rate=1Hz,depth=10dB"}},
		{"selectivity", []string{"pass.csv", "--method", "constant_input", "--nominal", "612 kHz"}},
		{"selectivity", []string{"hiss.wav", "--detection", "bfo", "--bfo-offset", "+1.5 kHz"}},
		{"audio", []string{"audio.csv"}},
		{"audio", []string{"tone.wav@input=-47dBm"}},
		{"bfo", []string{"bfo.csv", "--passband-low", "-1.3 kHz", "--passband-high", "1.2 kHz", "--injection", "high"}},
		{"bfo", []string{"tone.wav@end=high", "tone.wav@end=low,side=below"}},
		{"drift", []string{"warm.csv", "--oscillator", "local"}},
		{"drift", []string{"tone.wav"}},
	}
}

// TestOneTruth: the figures of a file looked at, of the same file in the book and
// of its page are the same to the last digit; only the run's own sources of
// uncertainty are called after the run.
func TestOneTruth(t *testing.T) {
	dir, book := t.TempDir(), bookOfOne(t)
	all := truths(t, dir)
	t.Chdir(dir)
	runs := make([]string, len(all))
	analysed := make([]string, len(all))
	for i, c := range all {
		analysed[i] = figuresIn(t, done(t, append([]string{"analyse", c.kind, "--json", "--book", book}, c.args...)...))
		// Each has a set of its own: figures of one are not derived by those of another.
		set := fmt.Sprintf("redshank-%d", i+1)
		done(t, "set", "add", set, "--book", book)
		said := done(t, append([]string{"run", "import", set, "--measurement", c.kind, "--book", book}, c.args...)...)
		if runs[i] = runName.FindString(said); runs[i] == "" {
			t.Fatalf("no run in %s", said)
		}
	}
	p := start(t, "serve", "--address", "127.0.0.1:0", "--book", book)
	url := strings.TrimSuffix(strings.Fields(p.line(t, "The pages are at"))[4], "/")
	for i, c := range all {
		shown := figuresIn(t, done(t, "run", "show", runs[i], "--json", "--book", book))
		onPage := figuresIn(t, got(t, url+"/runs/"+runs[i]+"/figures.json"))
		if analysed[i] == "[]" {
			t.Errorf("%s %v gives no figure", c.kind, c.args)
		}
		for where, other := range map[string]string{"in the book": shown, "on the page": onPage} {
			if at := firstDifference(analysed[i], other); at >= 0 {
				t.Errorf("%s %v: analysed\n%s\n%s\n%s", c.kind, c.args, around(analysed[i], at), where, around(other, at))
			}
		}
	}
}

// ownName is what sources of a run are called after, and its file as long as it
// is no run.
var ownName = regexp.MustCompile(`file-[0-9a-f]{16}(-[0-9a-f]{16})*|` + runName.String())

var runName = regexp.MustCompile(`redshank-[0-9]+-(agc|audio|bfo|drift|selectivity|sensitivity)-[-0-9]*[0-9]`)

// figuresIn are the figures of a document, as text that can be compared.
func figuresIn(t *testing.T, document string) string {
	t.Helper()
	var d struct{ Figures json.RawMessage }
	if err := json.Unmarshal([]byte(document), &d); err != nil {
		t.Fatalf("%v in %.200s", err, document)
	}
	var compact strings.Builder
	var figures []any
	if err := json.Unmarshal(d.Figures, &figures); err != nil {
		t.Fatal(err)
	}
	if err := json.NewEncoder(&compact).Encode(figures); err != nil {
		t.Fatal(err)
	}
	return strings.TrimSpace(ownName.ReplaceAllString(compact.String(), "RUN"))
}

// firstDifference is where two texts part, −1 where they do not.
func firstDifference(a, b string) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	if len(a) != len(b) {
		return min(len(a), len(b))
	}
	return -1
}

func around(s string, at int) string { return "…" + s[max(0, at-200):min(len(s), at+100)] + "…" }

func got(t *testing.T, url string) string {
	t.Helper()
	answer, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		t.Fatalf("%s: status %d, %v", url, answer.StatusCode, err)
	}
	return string(b)
}

// warmRows is an invented log of an hour, a reading every ten seconds.
func warmRows() string {
	var b strings.Builder
	for i := range 360 {
		s := float64(10 * i)
		fmt.Fprintf(&b, "%.0f,%.1f\n", s, 8512300+2000*math.Exp(-s/600)+float64(i*7919%10)/10)
	}
	return b.String()
}
