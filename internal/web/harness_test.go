package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"setwright/internal/intake"
	"setwright/internal/measure/list"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/store"
	"setwright/internal/workshop"
	"setwright/recording"
)

// bench is a book with pages on it, for a test.
type bench struct {
	t    *testing.T
	shop *workshop.Shop
	*Server
	now time.Time
}

// newBench makes an empty book. Its clock stands until a test moves it.
func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{t: t, now: time.Date(2024, 2, 3, 9, 0, 0, 0, time.UTC)}
	clock := func() time.Time { return b.now }
	book, err := store.Open(t.Context(), t.TempDir()+"/book", store.Options{Create: true, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	registry, err := list.Registry()
	if err != nil {
		t.Fatal(err)
	}
	b.shop = workshop.New(book, registry)
	b.shop.Clock = clock
	b.Server, err = New(b.shop, Options{StageDir: t.TempDir(), Log: log.New(io.Discard, "", 0)})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close(); book.Close() })
	return b
}

// must stops the test on an error.
func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// send answers a request as the server would.
func (b *bench) send(r *http.Request) *httptest.ResponseRecorder {
	b.t.Helper()
	w := httptest.NewRecorder()
	b.Handler().ServeHTTP(w, r)
	return w
}

func request(method, path string, body io.Reader) *http.Request {
	r := httptest.NewRequest(method, path, body)
	r.Host = "127.0.0.1:8417"
	return r
}

// get fetches a page, which must have the status.
func (b *bench) get(path string, status int) *goquery.Document {
	b.t.Helper()
	return b.page(b.send(request("GET", path, nil)), path, status)
}

func (b *bench) page(w *httptest.ResponseRecorder, path string, status int) *goquery.Document {
	b.t.Helper()
	if w.Code != status {
		b.t.Fatalf("%s: status %d, want %d\n%s", path, w.Code, status, words(w.Body.String()))
	}
	doc, err := goquery.NewDocumentFromReader(w.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return doc
}

// words is the text of a page, for messages.
func words(html string) string {
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(html))
	if err != nil {
		return html
	}
	return strings.Join(strings.Fields(doc.Find("main").Text()), " ")
}

// post sends a form.
func (b *bench) post(path string, form url.Values) *httptest.ResponseRecorder {
	b.t.Helper()
	r := request("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.send(r)
}

// done sends a form that must be taken, and returns where it led to.
func (b *bench) done(path string, form url.Values) string {
	b.t.Helper()
	w := b.post(path, form)
	if w.Code != http.StatusSeeOther {
		b.t.Fatalf("%s: status %d, want 303\n%s", path, w.Code, words(w.Body.String()))
	}
	return w.Header().Get("Location")
}

// warmUp is an invented log: seconds and hertz from cold, settling.
func warmUp(excursionHz, tauS float64, seed int) string {
	var s strings.Builder
	s.WriteString("elapsed (s);frequency (kHz)\n")
	for i := 1; i <= 240; i++ {
		t := float64(i) * 30
		noise := 2 * math.Sin(float64(i*i+17*seed))
		hz := 8_512_300 + excursionHz*math.Exp(-t/tauS) + noise
		fmt.Fprintf(&s, "%.0f;%s\n", t, strings.Replace(fmt.Sprintf("%.4f", hz/1000), ".", ",", 1))
	}
	return s.String()
}

// stocked is a bench with an invented set, two configurations that differ by
// one modification with a claim, and runs on both sides.
func stocked(t *testing.T) *bench {
	t.Helper()
	b := newBench(t)
	ctx := context.Background()
	set := must[receiver.Set](t)(b.shop.AddSet(ctx, receiver.Set{Name: "Turnstone", Kind: "single superhet, five bands", IFHz: 612e3, Invented: true},
		b.now.AddDate(0, -2, 0)))
	mod := must[receiver.Modification](t)(b.shop.AddModification(ctx, receiver.Modification{SetID: set.ID, Title: "Compensating pair",
		ActsOn: []string{"local oscillator"}, Undo: "two capacitors; the old ones are in bag 7", Claims: []receiver.Claim{
			{Figure: "settling_time", Conditions: map[string]string{"band_hz": "100"}, Direction: receiver.Smaller, Amount: 1. / 3, Relative: true, Source: "a note in the case"}}}))
	config := must[receiver.Configuration](t)(b.shop.AddConfiguration(ctx, receiver.Configuration{SetID: set.ID, Name: "pair fitted", Modifications: []string{mod.ID}}))
	state := must[receiver.State](t)(b.shop.AddState(ctx, receiver.State{ConfigurationID: config.ID, From: b.now.AddDate(0, 0, -20)}))
	before := must[workshop.SetView](t)(b.shop.SetView(ctx, set.ID, false)).States[0].State
	for i := range 2 {
		b.addRun(before.ID, b.now.AddDate(0, 0, -40+i), warmUp(2000, 1500, i))
		b.addRun(state.ID, b.now.AddDate(0, 0, -10+i), warmUp(1200, 600, i))
	}
	return b
}

// addRun imports a log as a run.
func (b *bench) addRun(state string, at time.Time, data string) run.Run {
	b.t.Helper()
	n := workshop.NewRun{State: state, Measurement: "drift", Started: at, Options: map[string]string{
		"oscillator": "local", "off_time": "14 h", "dial": "7.9 MHz", "ambient": "19 °C", "line_voltage": "232 V", "power_on": "0 s"}}
	return must[workshop.Imported](b.t)(b.shop.Import(context.Background(), n, intake.BytesSource("warm-up.csv", []byte(data)), intake.Override{}, nil)).Run
}

// hiss is a recording of so many seconds of noise and a tone, as a file.
func hiss(seconds int) string {
	var b bytes.Buffer
	w, err := recording.NewWriter(&b, recording.Format{RateHz: 8000, Channels: 1, Bits: 16})
	if err != nil {
		panic(err)
	}
	r := rand.New(rand.NewPCG(7, 7))
	samples := make([]float64, 8000*seconds)
	for i := range samples {
		samples[i] = 0.1*math.Sin(2*math.Pi*997*float64(i)/8000) + 0.002*r.NormFloat64()
	}
	if err := errors.Join(w.Write(samples), w.Close()); err != nil {
		panic(err)
	}
	return b.String()
}
