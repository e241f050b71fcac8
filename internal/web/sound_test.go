package web

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// A label put right and a recording left out are amendments: the page of the run
// says so, the files stay, and taking it in again undoes it.
func TestRecordingsAreAmendedFromThePage(t *testing.T) {
	b := stocked(t)
	id := b.addSound("turnstone")
	at := "/runs/" + id + "/amend"
	b.done(at, url.Values{"kind": {"label"}, "recording": {"2"}, "role": {"input"}, "text": {"-93 dBm"}, "reason": {"the pad was out"}})
	b.done(at, url.Values{"kind": {"leave"}, "recording": {"1"}, "reason": {"a door slammed"}})
	text := b.get("/runs/"+id, 200).Find("main").Text()
	for _, want := range []string{`input of recording 2 put right to "-93 dBm"`, "recording 1 left out: a door slammed", "left out"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	b.done(at, url.Values{"kind": {"take"}, "recording": {"1"}, "reason": {"it was another one"}})
	if got := b.get("/runs/"+id, 200).Find("#recordings tr.struck").Length(); got != 0 {
		t.Errorf("%d recordings still left out", got)
	}
	for _, bad := range []url.Values{
		{"kind": {"leave"}, "recording": {"3"}, "reason": {"x"}}, {"kind": {"label"}, "recording": {"1"}, "role": {"colour"}, "text": {"red"}, "reason": {"x"}},
		{"kind": {"leave"}, "recording": {"first"}, "reason": {"x"}},
	} {
		if w := b.post(at, bad); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%v: status %d", bad, w.Code)
		}
	}
}

// A recording is played from any place, as 16-bit WAV, and the bytes of a part
// are those of the whole.
func TestRecordingIsPlayedFromAnyPlace(t *testing.T) {
	b := stocked(t)
	at := "/runs/" + b.addSound("turnstone") + "/recordings/1/listen.wav"
	whole := b.send(request("GET", at, nil))
	data, _ := io.ReadAll(whole.Result().Body)
	if whole.Code != 200 || len(data) != 44+2*3*8000 || string(data[:4]) != "RIFF" {
		t.Fatalf("status %d, %d bytes", whole.Code, len(data))
	}
	for _, part := range []struct{ from, to int }{{20000, 30000}, {100, 400}, {47000, 48043}, {0, 50}} {
		r := request("GET", at, nil)
		r.Header.Set("Range", fmt.Sprintf("bytes=%d-%d", part.from, part.to))
		w := b.send(r)
		got, _ := io.ReadAll(w.Result().Body)
		if w.Code != http.StatusPartialContent || string(got) != string(data[part.from:part.to+1]) {
			t.Errorf("bytes %d to %d: status %d, %d bytes", part.from, part.to, w.Code, len(got))
		}
	}
	b.get("/runs/turnstone-sensitivity-2024-02-03/recordings/7", 404)
	b.get("/runs/turnstone-sensitivity-2024-02-03/recordings/x", 404)
}
