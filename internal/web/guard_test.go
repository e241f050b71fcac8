package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

func TestAForeignPageCannotWriteIntoTheBook(t *testing.T) {
	b := newBench(t)
	form := url.Values{"name": {"Whimbrel"}}
	for header, value := range map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "http://elsewhere.invalid"} {
		r := request("POST", "/sets", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set(header, value)
		if w := b.send(r); w.Code != http.StatusForbidden {
			t.Errorf("%s %s: status %d, want 403", header, value, w.Code)
		}
	}
	if sets, err := b.shop.Book.Sets(t.Context()); err != nil || len(sets) != 0 {
		t.Errorf("the book holds %v (%v) after refused writes", sets, err)
	}
}

func TestOnlyTheComputersOwnNamesAreAnswered(t *testing.T) {
	b := newBench(t)
	for host, want := range map[string]int{
		"127.0.0.1:8417": 200, "localhost:80": 200, "[::1]:8417": 200, "[::1]": 200, "127.0.0.1": 200,
		"bench.invalid:8417": 421, "192.168.1.7:8417": 421, "": 421, "localhost.invalid": 421,
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host = host
		if w := b.send(r); w.Code != want {
			t.Errorf("host %q: status %d, want %d", host, w.Code, want)
		}
	}
}

func TestPagesAreServedToThisComputerOnly(t *testing.T) {
	for _, addr := range []string{":0", "0.0.0.0:0", "192.168.1.7:0", "bench.invalid:0", "no port", "[::]:0"} {
		if l, err := Listen(addr); err == nil {
			l.Close()
			t.Errorf("address %q was taken", addr)
		}
	}
	b := newBench(t)
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- b.ServeOn(ctx, l) }()
	resp, err := http.Get("http://" + l.Addr().String() + "/")
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != 200 {
		t.Errorf("status %d", resp.StatusCode)
	}
	end()
	if err := <-ended; err != nil {
		t.Errorf("the end: %v", err)
	}
}

func TestEveryAnswerSaysWhatABrowserMayDoWithIt(t *testing.T) {
	b := newBench(t)
	for _, path := range []string{"/", "/assets/setwright.css", "/nowhere"} {
		h := b.send(request("GET", path, nil)).Header()
		csp := h.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") || strings.Contains(csp, "http") {
			t.Errorf("%s: content policy %q", path, csp)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Referrer-Policy") != "no-referrer" {
			t.Errorf("%s: headers %v", path, h)
		}
	}
	w := b.send(request("GET", b.assets.href("setwright.css"), nil))
	if !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("an asset under its digest: %q", w.Header().Get("Cache-Control"))
	}
}

func TestAFaultInTheProgramIsAPageAndNotASilence(t *testing.T) {
	b := newBench(t)
	b.mux.HandleFunc("GET /fault", func(http.ResponseWriter, *http.Request) { panic("a fault") })
	doc := b.get("/fault", 500)
	if !strings.Contains(doc.Find("main").Text(), "What was stored before stands") {
		t.Errorf("page: %s", doc.Find("main").Text())
	}
}
