package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

// A newcomer takes a set in, makes a slip in its description, and puts it back.
func TestASetIsTakenInChangedAndPutBack(t *testing.T) {
	b := newBench(t)
	if text := b.get("/", 200).Find("main").Text(); !strings.Contains(text, "No set yet: take one in") || !strings.Contains(text, "setwright demo") {
		t.Errorf("the empty shelf says %q", text)
	}
	at := b.done("/sets", url.Values{"name": {"Whimbrel"}, "if": {"455 kc/s"}, "bands": {"A = 1,5 MHz .. 3 MHz\nB = 3 MHz .. 7 MHz"}, "stages": {"V3 = local oscillator = 6J5"}})
	doc := b.get(at, 200)
	if facts := doc.Find(".facts").Text(); !strings.Contains(facts, "455 kHz") || !strings.Contains(facts, "1.5 MHz to 3 MHz") || !strings.Contains(facts, "6J5") {
		t.Errorf("facts: %q", facts)
	}
	changed := b.done("/sets/whimbrel", url.Values{"name": {"Wimbrel"}})
	doc = b.get(changed, 200)
	form := doc.Find(".notice form")
	id, _ := form.Find("[name=change]").Attr("value")
	if doc.Find("h1").Text() != "Wimbrel" || id == "" {
		t.Fatalf("after the change: %q, undo %q", doc.Find("h1").Text(), id)
	}
	doc = b.get(b.done(form.AttrOr("action", ""), url.Values{"change": {id}}), 200)
	if doc.Find("h1").Text() != "Whimbrel" || !strings.Contains(doc.Find(".facts").Text(), "455 kHz") {
		t.Errorf("after putting back: %q with %q", doc.Find("h1").Text(), doc.Find(".facts").Text())
	}
}

// A form that is refused keeps what was typed and says what was expected.
func TestARefusedFormKeepsWhatWasTyped(t *testing.T) {
	b := newBench(t)
	doc := b.page(b.post("/sets", url.Values{"name": {"Whimbrel"}, "if": {"455 bananas"}, "origin": {"a fair"}}), "/sets", 422)
	if doc.Find("[name=origin]").AttrOr("value", "") != "a fair" || !strings.Contains(doc.Find("[role=alert]").Text(), "bananas") {
		t.Errorf("form %q, alert %q", doc.Find("[name=origin]").AttrOr("value", ""), doc.Find("[role=alert]").Text())
	}
	b.done("/sets", url.Values{"name": {"Whimbrel"}})
	b.page(b.post("/sets", url.Values{"name": {"whimbrel"}}), "/sets", 409)
	b.page(b.post("/sets", url.Values{"name": {"..."}}), "/sets", 422)
	b.get("/sets/nobody", 404)
	b.page(b.send(request("DELETE", "/sets", nil)), "/sets", 404)
}

// A modification is written down with its claim, fitted, and the set stands in
// a new state, on the line of time with its runs.
func TestAModificationIsWrittenDownAndFitted(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}, "found": {"2024-01-10"}})
	to := b.done("/sets/turnstone/modifications/new", url.Values{"title": {"Compensating pair"}, "acts_on": {"local oscillator, tank of band 4"}, "undo": {"bag 7"}})
	if !strings.HasPrefix(to, "/sets/turnstone/claims/new?modification=turnstone%2Fcompensating-pair") {
		t.Fatalf("led to %s", to)
	}
	claim := url.Values{"modification": {"turnstone/compensating-pair"}, "figure": {"settling_time"}, "direction": {"smaller"}, "amount": {"1/3"}, "source": {"a pencilled note"}}
	if text := b.page(b.post("/sets/turnstone/claims/new", claim), "claim", 422).Find("[role=alert]").Text(); !strings.Contains(text, "band_hz=100") {
		t.Errorf("a claim without its band: %q", text)
	}
	claim.Set("by band_hz", "±100 Hz")
	b.done("/sets/turnstone/claims/new", claim)
	to = b.done("/sets/turnstone/configurations/new", url.Values{"name": {"pair fitted"}, "has turnstone/compensating-pair": {"1"}})
	if got := b.get(to, 200).Find("[name=configuration] [selected]").Text(); got != "pair fitted" {
		t.Errorf("the new state is offered for %q", got)
	}
	b.done("/sets/turnstone/states/new", url.Values{"configuration": {"turnstone/pair-fitted"}, "from": {"2024-02-01"}, "alignment": {"left as it was"}})
	plan := strings.Join(strings.Fields(b.get("/plan/turnstone/compensating-pair%231", 200).Find("main").Text()), " ")
	if n := strings.Count(plan, "shorter by a third"); n != 1 || !strings.Contains(plan, "Source: a pencilled note.") {
		t.Errorf("the plan says the claim %d times:\n%s", n, plan)
	}
	doc := b.get("/sets/turnstone", 200)
	text := strings.Join(strings.Fields(doc.Find("main").Text()), " ")
	for _, want := range []string{"Present state: pair fitted, since 1 February 2024", "Said: settling time to ±100 Hz shorter by a third", "a pencilled note", "Alignment: left as it was", "with Compensating pair"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q:\n%s", want, text)
		}
	}
	if doc.Find("svg.chart").Length() == 0 {
		t.Error("no line of time")
	}
	if href := doc.Find("a[href^='/plan/']").AttrOr("href", ""); href != "/plan/turnstone/compensating-pair%231" {
		t.Errorf("the plan of the claim is at %q", href)
	}
	b.done("/sets/turnstone/claims/drop", url.Values{"claim": {"turnstone/compensating-pair#1"}})
	if strings.Contains(b.get("/sets/turnstone", 200).Find(".claims").Text(), "Said") {
		t.Error("the claim is still there")
	}
}

// Two states of one set can be put beside each other from its page.
func TestTheSetPageLeadsEverywhere(t *testing.T) {
	b := stocked(t)
	doc := b.get("/sets/turnstone", 200)
	for _, want := range []string{"/import?state=", "/type?state=", "/card/drift?state=", "/record/turnstone", "/modifications/turnstone/compensating-pair", "/runs/turnstone-drift-"} {
		if doc.Find("a[href^='"+want+"']").Length() == 0 {
			t.Errorf("no way to %s", want)
		}
	}
	if doc.Find("form[action='/compare'] select[name=b]").Length() != 1 {
		t.Error("no way to compare")
	}
	if n := doc.Find(".runs li").Length(); n != 4 {
		t.Errorf("%d runs listed, want 4", n)
	}
	doc.Find(".runs li").Each(func(_ int, li *goquery.Selection) {
		if !strings.Contains(li.Text(), "settle") {
			t.Errorf("a run without its result: %q", li.Text())
		}
	})
}

func TestInstrumentsOfTheBench(t *testing.T) {
	b := newBench(t)
	form := url.Values{"name": {"Counter on the left"}, "reads": {"frequency"}, "relative": {"1 ppm"}, "resolution": {"10 Hz"}, "epoch": {"2024-03"}}
	b.done("/instruments", form)
	if row := b.get("/instruments", 200).Find("tbody tr").Text(); !strings.Contains(row, "± 1 ppm") || !strings.Contains(row, "10 Hz") {
		t.Errorf("row %q", row)
	}
	form.Set("reads", "colour")
	if w := b.post("/instruments", form); w.Code != http.StatusBadRequest {
		t.Errorf("an instrument that reads a colour: %d", w.Code)
	}
}
