//go:build browser

package browsertest

import (
	"bytes"
	"context"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

const pairCompared = "/compare?a=turnstone%2Fas-found&b=turnstone%2Fpair-fitted"

// judgingPages lists the pages of comparing, judging, planning and paper.
func (b *bench) judgingPages() []string {
	b.t.Helper()
	out := []string{"/compare", pairCompared, "/amounts"}
	shelf, err := b.shop.Shelf(b.t.Context())
	check(b.t, err)
	for i, item := range shelf {
		v, err := b.shop.SetView(b.t.Context(), item.Set.ID, false)
		check(b.t, err)
		for _, m := range v.Modifications {
			out = append(out, "/modifications/"+m.Modification.ID)
			for _, c := range m.Modification.Claims[:1] {
				out = append(out, "/plan/"+(&url.URL{Path: c.ID}).EscapedPath())
			}
		}
		if i == 0 {
			state := url.QueryEscape(v.States[len(v.States)-1].State.ID)
			out = append(out, "/record/"+item.Set.ID, "/card/drift?state="+state, "/card/drift/enter?state="+state)
		}
	}
	return out
}

// TestComparingFromTheSetToTheBudget: two states are chosen, compared, and a
// verdict is taken apart, by the keyboard's own links.
func TestComparingFromTheSetToTheBudget(t *testing.T) {
	b := told(t)
	b.visit("/compare")
	ask[bool](b, `(document.querySelector("select[name=a]").value = "turnstone/as-found", document.querySelector("select[name=b]").value = "turnstone/pair-fitted", true)`)
	b.do(chromedp.Click("main form button"))
	b.until(`document.querySelector("#answer")`)
	if at := ask[float64](b, `document.querySelector("#conditions").getBoundingClientRect().top - document.querySelector("#answer").getBoundingClientRect().top`); at >= 0 {
		t.Error("the conditions do not come before the answer")
	}
	b.do(chromedp.Click(`tr[data-key="settling_time[band_hz=100]"] th a`))
	b.until(`document.getElementById("settling_time[band_hz=100]").closest("details").open`)
	if bars := ask[int](b, `document.getElementById("settling_time[band_hz=100]").querySelectorAll(".budget rect").length`); bars == 0 {
		t.Error("the budget has no bars")
	}
}

// TestPlanningBeforeAnyoneSolders: a claim is planned by the form and the plan
// is there when the page is opened again.
func TestPlanningBeforeAnyoneSolders(t *testing.T) {
	b := told(t)
	b.visit("/plan/whimbrel/regulator-tube-in-the-oscillator-supply%231")
	b.do(chromedp.Click("main form button"))
	b.until(`document.querySelector(".order li")`)
	if n := ask[int](b, `document.querySelectorAll(".order .next").length`); n != 1 {
		t.Errorf("%d runs are called the next", n)
	}
}

// TestFilledCardIsTypedIn: the twin of the paper, typed by hand, becomes a run
// that can be read.
func TestFilledCardIsTypedIn(t *testing.T) {
	b := told(t)
	b.visit("/card/drift/enter?state=turnstone/as-found")
	ask[bool](b, `(() => { const put = (n, v) => document.querySelector("[name='" + n + "']").value = v;
		put("day", "2024-03-01"); put("opt oscillator", "local"); put("opt off_time", "14");
		for (let i = 1; i <= 8; i++) put("frequency-" + i, String(8511 + 0.1 * i)); return true })()`)
	b.do(chromedp.Click("main form button"))
	b.until(`location.pathname.startsWith("/runs/")`)
	if text := ask[string](b, `document.querySelector("main").innerText`); !strings.Contains(text, "8 readings") {
		t.Errorf("the run says %q", text)
	}
}

var pdfPage = regexp.MustCompile(`/Type\s*/Page\b`)

// TestPaperPrints: the record prints with its fonts inside; the bench card fits
// on the two sides of one sheet, A4 or Letter.
func TestPaperPrints(t *testing.T) {
	b := told(t)
	b.visit("/record/turnstone")
	record := b.print("record.pdf", 8.27, 11.69)
	if n := len(pdfPage.FindAll(record, -1)); n < 5 || !bytes.Contains(record, []byte("SetwrightSerif")) && !bytes.Contains(record, []byte("STIX")) {
		t.Errorf("record: %d pages, or its fonts are not inside", n)
	}
	b.visit("/card/drift?state=turnstone/as-found")
	for name, size := range map[string][2]float64{"card-a4.pdf": {8.27, 11.69}, "card-letter.pdf": {8.5, 11}} {
		if n := len(pdfPage.FindAll(b.print(name, size[0], size[1]), -1)); n != 2 {
			t.Errorf("%s has %d pages, expected the two sides of a sheet", name, n)
		}
	}
}

// print prints the page that is open, and leaves the file for the eye where
// SETWRIGHT_SHOTS names a folder.
func (b *bench) print(name string, width, height float64) []byte {
	b.t.Helper()
	var data []byte
	prefer := true
	b.do(func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		res, err := cdp.Call(ctx, t, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: width, PaperHeight: height, PreferCSSPageSize: &prefer})
		if err == nil {
			data = res.Data
		}
		return chromedp.Void{}, err
	})
	if dir := os.Getenv("SETWRIGHT_SHOTS"); dir != "" {
		check(b.t, os.WriteFile(filepath.Join(dir, name), data, 0o644))
	}
	return data
}
