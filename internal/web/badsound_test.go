package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"setwright/internal/store"
	"setwright/internal/workshop/shoptest"
)

// storeAnyway takes a file through the import pages, stores it as far as that is
// offered, and returns the last page's words.
func (b *bench) storeAnyway(measurement, name, data string) (status int, text string) {
	b.t.Helper()
	w := b.uploadFor(measurement, name, data)
	if w.Code == http.StatusSeeOther {
		w = b.send(request("GET", w.Header().Get("Location"), nil))
	}
	if w.Code == http.StatusOK {
		w = b.post("/import/sound", formOf(b.page(w, name, http.StatusOK), "form[action='/import/sound']"))
	}
	if w.Code == http.StatusSeeOther {
		w = b.send(request("GET", w.Header().Get("Location"), nil))
	}
	return w.Code, words(w.Body.String())
}

// Every damaged recording says on its page what the command says and is not
// stored even when that is asked for; what can be used is, with a word about it.
func TestDamagedRecordingsOnPages(t *testing.T) {
	for _, bad := range shoptest.BadSounds() {
		t.Run(bad.Name, func(t *testing.T) {
			b := newBench(t)
			b.patience = time.Minute
			b.done("/sets", url.Values{"name": {"Turnstone"}})
			status, text := b.storeAnyway("sensitivity", bad.Name, bad.Data)
			if bad.Want != "" {
				if status != http.StatusUnprocessableEntity || !strings.Contains(text, bad.Name+bad.Want) {
					t.Errorf("status %d, the page says\n%s\nwant\n%s%s", status, text, bad.Name, bad.Want)
				}
				b.unharmed(0)
				return
			}
			if status != http.StatusOK || !strings.Contains(text, bad.Warn) {
				t.Errorf("status %d, the page says\n%s\nwant\n%s", status, text, bad.Warn)
			}
			b.unharmed(1)
			runs, err := b.shop.Book.Runs(t.Context(), store.RunFilter{})
			if err != nil {
				t.Fatal(err)
			}
			want := http.StatusOK
			if runs[0].Recordings[0].Frames < 16 {
				want = http.StatusUnprocessableEntity
			}
			b.get("/runs/"+runs[0].ID+"/recordings/1", want)
		})
	}
}

// A label that cannot be read is said in the form, and nothing is lost of what
// was filled in.
func TestAWrongLabelIsSaidInTheForm(t *testing.T) {
	b := newBench(t)
	b.patience = time.Minute
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	w := b.uploadFor("sensitivity", "on.wav", shoptest.Recorded(3, 0.1, 0.02))
	form := formOf(b.get(w.Header().Get("Location"), http.StatusOK), "form[action='/import/sound']")
	form.Set("label 0 input", "loud")
	form.Set("notes", "fog")
	doc := b.page(b.post("/import/sound", form), "/import/sound", http.StatusUnprocessableEntity)
	if said := doc.Find("[role=alert]").Text(); !strings.Contains(said, `on.wav, label input: found "loud", expected a level as in -107 dBm`) {
		t.Errorf("it says %q", said)
	}
	if doc.Find("[name='label 0 input']").AttrOr("value", "") != "loud" || doc.Find("[name=notes]").Text() != "fog" {
		t.Error("what was filled in is lost")
	}
	b.unharmed(0)
	form.Set("label 0 input", "-107 dBm")
	b.done("/import/sound", form)
	b.unharmed(1)
}
