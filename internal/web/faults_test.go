package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"setwright/internal/store"
	"setwright/internal/workshop/shoptest"
)

// unharmed checks what must hold after every fault: the pages go on, and the
// book has so many runs and files.
func (b *bench) unharmed(runs int) {
	b.t.Helper()
	b.get("/", http.StatusOK)
	all, err := b.shop.Book.Runs(b.t.Context(), store.RunFilter{Hidden: true})
	if err != nil || len(all) != runs {
		b.t.Errorf("%d runs in the book, want %d (%v)", len(all), runs, err)
	}
	files, err := b.shop.Book.Files(b.t.Context(), "")
	if err != nil || len(files) > runs {
		b.t.Errorf("%d files in the book of %d runs (%v)", len(files), runs, err)
	}
	if left, err := os.ReadDir(b.shop.Book.Dir() + "/recordings"); err != nil || runs == 0 && len(left) > 0 {
		b.t.Errorf("left lying: %v %v", left, err)
	}
}

// told is what the page says of a problem: the parts that the command line puts
// into one line.
func toldOn(doc *goquery.Document) string {
	var said []string
	doc.Find("table.stack").First().Find("tbody tr td").Each(func(_ int, cell *goquery.Selection) { said = append(said, cell.Text()) })
	return strings.Join(append(said, doc.Find(".wrong, .finding").Text()), " | ")
}

// Every bad log says on its page what the command says, is not stored even when
// that is asked for, and the pages go on.
func TestBadFilesSayTheSameOnPages(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	for _, bad := range shoptest.BadFiles() {
		t.Run(bad.Name, func(t *testing.T) {
			w := b.upload(bad.Name, bad.Data)
			at := w.Header().Get("Location")
			if w.Code == http.StatusSeeOther {
				w = b.send(request("GET", at, nil))
			}
			if w.Code == http.StatusOK { // seen, and stored all the same
				doc := b.page(w, at, http.StatusOK)
				w = b.post("/import/store", formOf(doc, previewForm))
			}
			doc := b.page(w, bad.Name, http.StatusUnprocessableEntity)
			text := toldOn(doc)
			for _, part := range append(parts(bad.Want), bad.Name) {
				if !strings.Contains(strings.ToLower(text), strings.ToLower(part)) {
					t.Errorf("the page does not say %q:\n%s", part, text)
				}
			}
			if doc.Find("[formaction='/import/store']").Length() > 0 && doc.Find(".wrong").Length() == 0 {
				t.Error("it is offered for storing without a word")
			}
			b.unharmed(0)
		})
	}
}

// parts takes a message of the command apart: the place, what was found, what
// was expected, what to do.
func parts(want string) []string {
	where, rest, _ := strings.Cut(want, ": ")
	rest = strings.TrimPrefix(rest, "found ")
	out := strings.FieldsFunc(strings.NewReplacer(", expected ", "\x00", "; ", "\x00").Replace(rest), func(r rune) bool { return r == 0 })
	if where = strings.TrimPrefix(where, ", "); where != "" {
		out = append(out, where)
	}
	return out
}

// A file longer than is taken: nothing of it is kept anywhere.
func TestTooLargeAFile(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	b.opt.MaxUpload = 20_000
	doc := b.page(b.upload("long.csv", strings.Repeat("0,7065300\n", 10_000)), "/import", http.StatusRequestEntityTooLarge)
	if text := doc.Find(".finding").Text(); !strings.Contains(text, "longer than 20000 bytes") {
		t.Errorf("it says %q", text)
	}
	if b.stage.dir != "" {
		if left, err := os.ReadDir(b.stage.dir); err != nil || len(left) > 0 {
			t.Errorf("left waiting: %v %v", left, err)
		}
	}
	b.unharmed(0)
}

// A browser that goes away in the middle of a file.
func TestUploadBrokenOff(t *testing.T) {
	b := newBench(t)
	r := request("POST", "/import", strings.NewReader("--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"half.csv\"\r\n\r\n0,7065300\n60,70"))
	r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
	doc := b.page(b.send(r), "/import", http.StatusBadRequest)
	if text := doc.Find(".finding").Text(); !strings.Contains(text, "did not come through whole") || !strings.Contains(text, "Nothing was kept of it") {
		t.Errorf("it says %q", text)
	}
	r = request("POST", "/import", strings.NewReader("a=b"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	b.page(b.send(r), "/import", http.StatusBadRequest)
	b.unharmed(0)
}

// The same file stored from two tabs at once, or by a button pressed twice, is
// one run; whoever comes late is told.
func TestTwoTabsStoreOnce(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	form := formOf(b.get(b.stageUp("log.csv", warmUp(900, 800, 1)), http.StatusOK), previewForm)
	var tabs [4]*httptest.ResponseRecorder
	var all sync.WaitGroup
	for i := range tabs {
		all.Go(func() { tabs[i] = b.post("/import/store", form) })
	}
	all.Wait()
	stored := 0
	for _, w := range tabs {
		switch w.Code {
		case http.StatusSeeOther:
			stored++
		case http.StatusNotFound, http.StatusConflict:
		default:
			t.Errorf("status %d: %s", w.Code, words(w.Body.String()))
		}
	}
	if stored != 1 {
		t.Errorf("stored from %d tabs, want one", stored)
	}
	b.unharmed(1)
	b.page(b.post("/import/store", form), "late", http.StatusNotFound)
	b.unharmed(1)
}

// A file that could not be stored can be put right and stored from the same
// page.
func TestRefusedThenStored(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	form := formOf(b.get(b.stageUp("log.csv", warmUp(900, 800, 1)), http.StatusOK), previewForm)
	form.Set("opt oscillator", "moon")
	doc := b.page(b.post("/import/store", form), "refused", http.StatusUnprocessableEntity)
	if text := doc.Find(".wrong").Text(); !strings.Contains(text, `found "moon", expected one of local, bfo, set`) {
		t.Errorf("it says %q", text)
	}
	form.Set("opt oscillator", "local")
	b.done("/import/store", form)
	b.unharmed(1)
}

// Runs and files that are not there, and forms that lack what they must have.
func TestWrongRuns(t *testing.T) {
	b := stocked(t)
	for _, c := range []struct {
		path   string
		form   url.Values
		status int
		want   string
	}{
		{"/type/r9/reading", url.Values{"reading": {"7065.3"}}, http.StatusNotFound, `no run "r9"`},
		{"/type/r9/strike", nil, http.StatusNotFound, `no run "r9"`},
		{"/type/r9/finish", nil, http.StatusNotFound, `no run "r9"`},
		{"/runs/r9/amend", url.Values{"kind": {"strike"}, "row": {"1"}, "reason": {"why"}}, http.StatusNotFound, `no run "r9"`},
		{"/runs/r9/hide", url.Values{"reason": {"why"}}, http.StatusNotFound, `no run "r9"`},
		{"/runs/r9/notes", url.Values{"notes": {"a"}}, http.StatusNotFound, `no run "r9"`},
		{"/import/store", url.Values{"file": {"long gone"}}, http.StatusNotFound, "not here any more"},
		{"/import/preview", url.Values{"file": {"long gone"}}, http.StatusNotFound, "not here any more"},
		{"/type/" + b.addRun("turnstone", b.now, warmUp(10, 10, 3)).ID + "/reading", url.Values{"reading": {"7065.3"}}, http.StatusConflict, "finished"},
	} {
		w := b.post(c.path, c.form)
		text := words(w.Body.String())
		if w.Code != c.status || !strings.Contains(text, c.want) {
			t.Errorf("%s: status %d, want %d: %s", c.path, w.Code, c.status, text)
		}
		b.unharmed(5)
	}
	for _, path := range []string{"/runs/r9", "/runs/r9/raw", "/runs/r9/readings.csv", "/type/r9", "/sets/nobody", "/jobs/none"} {
		b.get(path, http.StatusNotFound)
	}
	b.unharmed(5)
}

// A book that can only be read shows its pages and says so where one would
// write.
func TestPagesOfABookThatCannotBeWritten(t *testing.T) {
	b := stocked(t)
	book, err := store.Open(t.Context(), b.shop.Book.Dir(), store.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { book.Close() })
	b.shop.Book = book
	b.get("/", http.StatusOK)
	b.get("/sets/turnstone", http.StatusOK)
	w := b.post("/sets", url.Values{"name": {"Whimbrel"}})
	if text := words(w.Body.String()); w.Code != http.StatusConflict && w.Code != http.StatusUnprocessableEntity || !strings.Contains(text, "reading only") {
		t.Errorf("a new set: status %d: %s", w.Code, text)
	}
	form := formOf(b.get(b.stageUp("log.csv", warmUp(900, 800, 1)), http.StatusOK), previewForm)
	w = b.post("/import/store", form)
	if text := words(w.Body.String()); w.Code < 400 || w.Code >= 500 || !strings.Contains(text, "reading only") {
		t.Errorf("an import: status %d: %s", w.Code, text)
	}
	b.get("/", http.StatusOK)
}
