package web

import (
	"context"
	"errors"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
)

// A long import shows how far it is, can be stopped, and leaves nothing then.
func TestALongImportShowsHowFarItIsAndCanBeStopped(t *testing.T) {
	b := newBench(t)
	begun := make(chan struct{})
	j := b.jobs.start("Storing long.csv", func(ctx context.Context, progress func(done, of int64)) (string, error) {
		progress(30, 120)
		close(begun)
		<-ctx.Done()
		return "", ctx.Err()
	})
	<-begun
	doc := b.get("/jobs/"+j.ID, 200)
	if !strings.Contains(doc.Find("main").Text(), "25 %") || doc.Find("meta[http-equiv=refresh]").Length() != 1 {
		t.Errorf("the page says %q", doc.Find("main").Text())
	}
	to := b.done("/jobs/"+j.ID+"/stop", nil)
	if text := b.get(to, 409).Find("h1").Text(); text != "Stopped" {
		t.Errorf("after stopping: %q", text)
	}
	b.get("/jobs/none", 404)
}

func TestAnImportNobodyWaitsForLeadsToItsRun(t *testing.T) {
	b := newBench(t)
	b.patience = 0
	b.done("/sets", url.Values{"name": {"Turnstone"}})
	to := b.done("/import/store", formOf(b.get(b.stageUp("log.csv", warmUp(900, 800, 1)), 200), previewForm))
	for i := 0; i < 100 && strings.HasPrefix(to, "/jobs/"); i++ {
		if w := b.send(request("GET", to, nil)); w.Code == 303 {
			to = w.Header().Get("Location")
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.get(to, 200)
}

// A fault in a job is a page, not the end of the program.
func TestAFaultInAJobIsAPage(t *testing.T) {
	b := newBench(t)
	j := b.jobs.start("Storing", func(context.Context, func(done, of int64)) (string, error) { panic("a fault") })
	<-j.finished
	b.get("/jobs/"+j.ID, 500)
}

// What takes long is done once for its page: asked for again meanwhile it is
// the same job, and what it made is given when it is over.
func TestWhatAPageWaitsForIsMadeOnce(t *testing.T) {
	b := newBench(t)
	b.patience = 0
	begun, finish := 0, make(chan error)
	look := func(context.Context, func(float64)) (any, error) {
		begun++
		return begun, <-finish
	}
	ask := func() (any, bool, error) {
		return b.looked(httptest.NewRecorder(), request("GET", "/spectra?a=1&b=2", nil), "Working", look)
	}
	for range 2 {
		if _, waiting, err := ask(); !waiting || err != nil {
			t.Fatalf("%t, %v", waiting, err)
		}
	}
	finish <- nil
	b.patience = time.Minute
	if made, waiting, err := ask(); made != 1 || waiting || err != nil {
		t.Errorf("%v, %t, %v", made, waiting, err)
	}
	go func() { finish <- errors.New("a fault") }()
	if made, _, err := ask(); made != 2 || err == nil {
		t.Errorf("anew: %v, %v", made, err)
	}
	go func() { finish <- nil }()
	if made, _, err := ask(); made != 3 || err != nil {
		t.Errorf("after a fault: %v, %v", made, err)
	}
}
