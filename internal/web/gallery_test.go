package web

import (
	"bytes"
	"context"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"setwright/internal/intake"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// gallery lists a request for every page. Whoever adds a page adds it here;
// TestGallery fails for a template that no request shows.
func (b *bench) gallery() []*http.Request {
	b.t.Helper()
	ctx := b.t.Context()
	v := must[workshop.SetView](b.t)(b.shop.SetView(ctx, "turnstone", false))
	first := v.States[0]
	state, mod := first.State.ID, v.Modifications[0].Modification.ID
	typed := must[run.Run](b.t)(b.shop.StartTyping(ctx, workshop.NewRun{State: state, Measurement: "drift", Started: b.now}, "kHz"))
	must[workshop.Typed](b.t)(b.shop.TypeReading(ctx, typed.ID, "1 min: 8512.9"))
	must[run.Instrument](b.t)(b.shop.AddInstrument(ctx, run.Instrument{Name: "counter", Relative: 1e-6, Epoch: "2024-01"}))
	under := b.jobs.start("Storing long.csv", func(ctx context.Context, _ func(done, of int64)) (string, error) {
		<-ctx.Done()
		return "", ctx.Err()
	})
	heard := b.addSound(state)
	var out []*http.Request
	for _, path := range []string{
		"/runs/" + heard, "/runs/" + heard + "/recordings/1", "/listen", "/listen?measurement=sensitivity",
		"/listen/live?" + url.Values{"state": {state}, "measurement": {"sensitivity"}, "label 0 input": {"-97 dBm"}}.Encode(), "/spectra", "/spectra?" + url.Values{"a": {heard + ":1"}, "b": {heard + ":2"}}.Encode(),
		"/", "/sets/new", "/sets/turnstone", "/sets/turnstone/edit", "/sets/turnstone/states/new", "/sets/turnstone/configurations/new",
		"/sets/turnstone/states/edit?id=" + url.QueryEscape(state), "/sets/turnstone/configurations/edit?id=" + url.QueryEscape(first.Configuration.ID),
		"/sets/turnstone/modifications/new", "/sets/turnstone/modifications/edit?id=" + url.QueryEscape(mod),
		"/sets/turnstone/claims/new?modification=" + url.QueryEscape(mod),
		"/runs/" + first.Runs[0].Run.ID, "/import?state=" + url.QueryEscape(state), b.stageUp("log.csv", warmUp(900, 800, 3)),
		"/type?state=" + url.QueryEscape(state), "/type/" + typed.ID, "/instruments", "/instruments/new", "/instruments/sound", "/words", "/jobs/" + under.ID, "/nowhere",
		b.uploadFor("selectivity", "noise.wav", hiss(2)).Header().Get("Location"),
		"/compare", pairCompared, "/modifications/" + mod, "/plan/" + pathOf(mod+"#1"), "/amounts", "/card/drift/enter?state=" + url.QueryEscape(state),
	} {
		out = append(out, request("GET", path, nil))
	}
	return out
}

// addSound imports two recordings as a run and returns its id.
func (b *bench) addSound(state string) string {
	b.t.Helper()
	file := func(name string, seconds int, labels map[string]string) workshop.SoundFile {
		return workshop.SoundFile{Source: intake.BytesSource(name, []byte(hiss(seconds))), Labels: labels}
	}
	return must[run.Run](b.t)(b.shop.ImportSound(b.t.Context(), workshop.NewRun{State: state, Measurement: "sensitivity", Started: b.now},
		[]workshop.SoundFile{file("on.wav", 3, map[string]string{"input": "-97 dBm", "signal": "on"}), file("off.wav", 3, map[string]string{"input": "-97 dBm", "signal": "off"})}, nil)).ID
}

// stageUp sends a file as a browser does and returns the address of its
// preview.
func (b *bench) stageUp(name, data string) string {
	b.t.Helper()
	w := b.upload(name, data)
	if w.Code != http.StatusSeeOther {
		b.t.Fatalf("upload of %s: status %d\n%s", name, w.Code, words(w.Body.String()))
	}
	return w.Header().Get("Location")
}

func (b *bench) upload(name, data string) *httptest.ResponseRecorder {
	b.t.Helper()
	return b.uploadFor("drift", name, data)
}

// uploadFor is upload for a measurement.
func (b *bench) uploadFor(measurement, name, data string) *httptest.ResponseRecorder {
	b.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for field, value := range map[string]string{"state": "turnstone", "measurement": measurement} {
		if err := form.WriteField(field, value); err != nil {
			b.t.Fatal(err)
		}
	}
	part, err := form.CreateFormFile("file", name)
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := part.Write([]byte(data)); err != nil {
		b.t.Fatal(err)
	}
	if err := form.Close(); err != nil {
		b.t.Fatal(err)
	}
	r := request("POST", "/import", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	return b.send(r)
}

// Every template is rendered with real contents, and every page has what a
// page must have and asks nobody outside for anything.
func TestGallery(t *testing.T) {
	b := stocked(t)
	shown := map[string]bool{}
	b.seen = func(name string) { shown[name] = true }
	for _, r := range b.gallery() {
		w := b.send(r)
		if w.Code >= 500 {
			t.Fatalf("%s: status %d\n%s", r.URL, w.Code, words(w.Body.String()))
		}
		html := w.Body.String()
		doc, err := goquery.NewDocumentFromReader(strings.NewReader(html))
		if err != nil {
			t.Fatal(err)
		}
		checkPage(t, r.URL.String(), doc)
	}
	for name := range b.pages {
		if !shown[name] {
			t.Errorf("no page of the gallery shows template %q", name)
		}
	}
}

// checkPage looks at what every page must have.
func checkPage(t *testing.T, at string, doc *goquery.Document) {
	t.Helper()
	if n := doc.Find("h1").Length(); n != 1 {
		t.Errorf("%s: %d headings of the first rank, want one", at, n)
	}
	if doc.Find("html[lang=en]").Length() != 1 || doc.Find("main#main").Length() != 1 || doc.Find("a.skip[href='#main']").Length() != 1 {
		t.Errorf("%s: language, main part or skip link missing", at)
	}
	doc.Find("[href], [src], [action], [formaction], [srcset], [poster], [data]").Each(func(_ int, e *goquery.Selection) {
		for _, name := range []string{"href", "src", "action", "formaction", "srcset", "poster", "data"} {
			v, ok := e.Attr(name)
			if goquery.NodeName(e) == "image" && strings.HasPrefix(v, "data:image/png;base64,") {
				continue // part of the page
			}
			if ok && (strings.Contains(v, "//") || !strings.HasPrefix(v, "/") && !strings.HasPrefix(v, "#")) {
				t.Errorf("%s: %s=%q leads outside", at, name, v[:min(len(v), 200)])
			}
		}
	})
	if n := doc.Find("[style], style, [onclick], script:not([src])").Length(); n > 0 {
		t.Errorf("%s: %d inline styles or scripts, which the content policy forbids", at, n)
	}
	doc.Find("input:not([type=hidden]), select, textarea").Each(func(_ int, e *goquery.Selection) {
		id, _ := e.Attr("id")
		label, _ := e.Attr("aria-label")
		if label == "" && e.Closest("label").Length() == 0 && doc.Find("label[for='"+id+"']").Length() == 0 {
			t.Errorf("%s: a field without a label: %s", at, e.AttrOr("name", "?"))
		}
	})
	if text := doc.Text(); strings.Contains(text, "%!") || strings.Contains(text, "<nil>") || strings.Contains(text, "NaN") {
		t.Errorf("%s: a value that was not written as one", at)
	}
}

// What people type is text, whatever it looks like.
func TestWhatIsTypedNeverBecomesAPageOfItsOwn(t *testing.T) {
	b := newBench(t)
	const evil = `<script>alert(1)</script>"'&`
	b.done("/sets", url.Values{"name": {evil}, "kind": {evil}, "as_found": {evil}, "cautions": {evil}, "serial": {evil}})
	sets := must[[]receiver.Set](t)(b.shop.Book.Sets(t.Context()))
	at := "/sets/" + sets[0].ID
	b.done(at+"/modifications/new", url.Values{"title": {evil}, "undo": {evil}, "acts_on": {evil}})
	state := must[workshop.SetView](t)(b.shop.SetView(t.Context(), sets[0].ID, false)).States[0].State
	r := must[workshop.Imported](t)(b.shop.Import(t.Context(), workshop.NewRun{State: state.ID, Measurement: "drift", Title: evil, Notes: evil},
		intake.BytesSource(`<img src=x onerror=alert(1)>.csv`, []byte(warmUp(900, 800, 1))), intake.Override{}, nil)).Run
	for _, path := range []string{"/", at, at + "/edit", "/runs/" + r.ID, "/import", "/type"} {
		doc := b.get(path, 200)
		if n := doc.Find("script:not([src]), img").Length(); n > 0 {
			t.Errorf("%s: typed text became %d elements", path, n)
		}
	}
	if got := b.get(at, 200).Find("h1").Text(); got != evil {
		t.Errorf("name shown as %q", got)
	}
}
