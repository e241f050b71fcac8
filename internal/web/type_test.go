package web

import (
	"net/url"
	"strings"
	"testing"
	"time"
)

// A morning at the bench: readings are stamped by themselves, one is struck
// out, a slip of the finger is refused, and a fresh start loses nothing.
func TestReadingsAreTypedAtTheBench(t *testing.T) {
	b := newBench(t)
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	if text := b.get("/type", 200).Find(".caution").First().Text(); !strings.Contains(text, "not simply switched on") {
		t.Errorf("the caution before switching on reads %q", text)
	}
	at := b.done("/type", url.Values{"state": {"turnstone"}, "measurement": {"drift"}, "unit": {"kHz"}, "opt oscillator": {"local"}})
	take := func(after time.Duration, text string) {
		t.Helper()
		b.now = b.now.Add(after)
		b.done(at+"/reading", url.Values{"reading": {text}})
	}
	take(time.Minute, "7065.9")
	take(time.Minute, "7 065,7")
	take(time.Minute, "706.51")
	b.done(at+"/reading", url.Values{"reading": {"x"}})
	doc := b.get(at, 200)
	if doc.Find(".number").Text() != "7 065,7" || !strings.Contains(doc.Find(".of").Text(), "kHz at 2:00") {
		t.Errorf("the number %q, %q", doc.Find(".number").Text(), doc.Find(".of").Text())
	}
	if n, struck := doc.Find(".tape li").Length(), doc.Find(".tape .struck").Length(); n != 3 || struck != 1 {
		t.Errorf("%d readings, %d struck out", n, struck)
	}
	if text := doc.Find(".step").Text(); !strings.Contains(text, "step") || doc.Find("[data-due]").AttrOr("data-due", "") == "" {
		t.Errorf("the next step: %q", text)
	}
	doc = b.page(b.post(at+"/reading", url.Values{"reading": {"7065.5 V"}}), at, 422)
	if doc.Find("[name=reading]").AttrOr("value", "") != "7065.5 V" || doc.Find("[role=alert]").Length() != 1 {
		t.Error("what was refused is gone")
	}
	again, err := New(b.shop, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	b.Server = again
	if n := b.get(at, 200).Find(".tape li").Length(); n != 3 {
		t.Errorf("after a fresh start %d readings", n)
	}
	if link := b.get("/", 200).Find("a[href='" + at + "']"); link.Length() != 1 {
		t.Error("the shelf does not lead back to the open run")
	}
	run := b.done(at+"/finish", url.Values{})
	b.get(run, 200)
	if w := b.post(at+"/reading", url.Values{"reading": {"7065"}}); w.Code != 422 && w.Code != 409 {
		t.Errorf("a reading into a finished run: %d", w.Code)
	}
	if w := b.send(request("GET", at, nil)); w.Code != 303 {
		t.Errorf("the bench of a finished run: %d", w.Code)
	}
}

func TestClock(t *testing.T) {
	for seconds, want := range map[float64]string{0: "0:00", 65.4: "1:05", 3599.6: "1:00:00", 3905: "1:05:05", -5: "−0:05", 90000: "25:00:00"} {
		if got := clock(seconds); got != want {
			t.Errorf("%g s: %q, want %q", seconds, got, want)
		}
	}
}
