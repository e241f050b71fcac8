package web

import (
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

// formOf gathers a form's entries as a browser would send them.
func formOf(doc *goquery.Document, selector string) url.Values {
	form := url.Values{}
	doc.Find(selector).Find("input, select, textarea").Each(func(_ int, e *goquery.Selection) {
		name, ok := e.Attr("name")
		if !ok {
			return
		}
		switch {
		case goquery.NodeName(e) == "select":
			opt := e.Find("option[selected]")
			if opt.Length() == 0 {
				opt = e.Find("option").First()
			}
			form.Add(name, opt.AttrOr("value", ""))
		case e.AttrOr("type", "") == "checkbox" || e.AttrOr("type", "") == "radio":
			if _, on := e.Attr("checked"); on {
				form.Add(name, e.AttrOr("value", ""))
			}
		case goquery.NodeName(e) == "textarea":
			form.Add(name, e.Text())
		default:
			form.Add(name, e.AttrOr("value", ""))
		}
	})
	return form
}

const previewForm = "form[action='/import/preview']"

// Nothing is stored until the reading of the file has been seen; a column put
// right stays so, and the rest stay guesses with their reasons.
func TestAFileIsSeenPutRightAndStored(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	to := b.stageUp("morning.csv", strings.Replace(warmUp(900, 800, 1), "elapsed (s);frequency (kHz)", "a;b", 1))
	doc := b.get(to, 200)
	if got := doc.Find("[name=decimal] [selected]").AttrOr("value", ""); got != "comma" {
		t.Errorf("decimal sign %q", got)
	}
	if why := doc.Find("[name='c2 unit']").Parent().Text(); !strings.Contains(why, "Guessed") {
		t.Errorf("the unit of an unnamed column is not called a guess: %q", why)
	}
	form := formOf(doc, previewForm)
	form.Set("c1 role", "time")
	form.Set("c1 unit", "min")
	w := b.post("/import/preview", form)
	doc = b.page(w, "preview", 200)
	if got := doc.Find("[name='c1 unit'] [selected]").AttrOr("value", ""); got != "min" {
		t.Errorf("the unit put right came back as %q", got)
	}
	if row := doc.Find(".asread tbody tr").First().Text(); !strings.Contains(row, "30 min") {
		t.Errorf("the first row is read as %q", row)
	}
	if doc.Find("[name='fixed c2 unit']").Length() != 0 {
		t.Error("what was not touched is called said")
	}
	form = formOf(doc, previewForm)
	form.Set("c1 unit", "s")
	form.Set("opt oscillator", "local")
	form.Set("started", "2024-02-01T07:40")
	if shelf, err := b.shop.Shelf(t.Context()); err != nil || shelf[0].Runs != 0 {
		t.Fatalf("stored before it was said: %+v %v", shelf, err)
	}
	at := b.done("/import/store", form)
	doc = b.get(at, 200)
	if text := doc.Find(".facts").First().Text(); !strings.Contains(text, "local") || !strings.Contains(text, "1 February 2024, 07:40") {
		t.Errorf("circumstances %q", text)
	}
	if left, err := os.ReadDir(b.stage.dir); err != nil || len(left) != 0 {
		t.Errorf("files left waiting: %v %v", left, err)
	}
	b.get(to, 404) // the file waits no more
}

// A file that cannot be read says where, what was found and what was expected,
// and is not offered for storing.
func TestABadFileSaysWhere(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	doc := b.get(b.stageUp("spoilt.csv", "time (s),frequency (Hz)\n0,7065100\n10,seven\n20,7065300\n30,7065310\n"), 200)
	if row := doc.Find("table tbody tr").First().Text(); !strings.Contains(row, "line 3, column 2") || !strings.Contains(row, "seven") {
		t.Errorf("the problem is told as %q", row)
	}
	if doc.Find("[formaction='/import/store']").Length() != 0 {
		t.Error("it is offered for storing")
	}
	w := b.post("/import/store", formOf(doc, previewForm))
	if w.Code != 422 || !strings.Contains(words(w.Body.String()), "Not stored") {
		t.Errorf("storing it all the same: %d %s", w.Code, words(w.Body.String()))
	}
	for name, data := range map[string]string{"empty.csv": "", "picture.csv": "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00", "one.csv": "t,f\n"} {
		w := b.upload(name, data)
		if w.Code == 303 {
			w = b.send(request("GET", w.Header().Get("Location"), nil))
		}
		text := words(w.Body.String())
		if w.Code < 200 || w.Code >= 500 || !strings.Contains(text, name) {
			t.Errorf("%s: %d %s", name, w.Code, text)
		}
		if strings.Contains(text, "Store these readings") {
			t.Errorf("%s is offered for storing", name)
		}
	}
	if shelf, err := b.shop.Shelf(t.Context()); err != nil || shelf[0].Runs != 0 {
		t.Errorf("something was stored: %+v %v", shelf, err)
	}
}

// A circumstance that cannot be read is said in the form, and nothing that was
// typed is lost.
func TestAWrongCircumstanceIsSaidBeforeAnythingIsStored(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	form := formOf(b.get(b.stageUp("log.csv", warmUp(900, 800, 1)), 200), previewForm)
	form.Set("opt dial", "7.9 bananas")
	form.Set("notes", "fog, and a knock at 10:05")
	doc := b.page(b.post("/import/store", form), "store", 422)
	if !strings.Contains(doc.Find("[role=alert]").Text(), "bananas") || doc.Find("[name=notes]").Text() != "fog, and a knock at 10:05" {
		t.Errorf("alert %q, notes %q", doc.Find("[role=alert]").Text(), doc.Find("[name=notes]").Text())
	}
	form.Set("opt dial", "7.9 MHz")
	b.done("/import/store", form)
}

func TestAFileTooLargeAndNoFileAtAll(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	b.opt.MaxUpload = 2000
	if w := b.upload("long.csv", warmUp(900, 800, 1)); w.Code != 413 {
		t.Errorf("a file longer than is taken: %d", w.Code)
	}
	if left, _ := os.ReadDir(b.stage.dir); len(left) != 0 {
		t.Errorf("half of it was kept: %v", left)
	}
	if w := b.post("/import", url.Values{"state": {"turnstone"}}); w.Code != 400 {
		t.Errorf("no file: %d", w.Code)
	}
}
