package web

import (
	"encoding/csv"
	"encoding/json"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"setwright/internal/workshop"
)

// firstRun is the id of the first run of the stocked bench.
func (b *bench) firstRun() string {
	b.t.Helper()
	return must[workshop.SetView](b.t)(b.shop.SetView(b.t.Context(), "turnstone", false)).States[0].Runs[0].Run.ID
}

// The answer stands first, and each figure says value, unit, uncertainty and
// what that is made of; the same numbers stand on the page and in JSON.
func TestARunAnswersFirstAndAccountsForEveryFigure(t *testing.T) {
	b := stocked(t)
	id := b.firstRun()
	doc := b.get("/runs/"+id, 200)
	res := must[workshop.Result](t)(b.shop.Result(t.Context(), id, nil, nil))
	var findings []string
	doc.Find(".finding").Each(func(_ int, p *goquery.Selection) { findings = append(findings, p.Text()) })
	for i, s := range res.Analysis.Sentences[:min(2, len(res.Analysis.Sentences))] {
		if findings[i] != s {
			t.Errorf("sentence %d is %q, want %q", i+1, findings[i], s)
		}
	}
	if doc.Find("main .finding").First().NextAll().Find("svg.chart").Length() == 0 {
		t.Error("the picture does not stand after the answer")
	}
	row := doc.Find("table.figures > tbody > tr:not(.more)").FilterFunction(func(_ int, r *goquery.Selection) bool {
		return r.Find("th").Text() == "Settling time to ±100 Hz"
	})
	if value := row.Find("td.value").Text(); !strings.Contains(value, "±") || !strings.HasSuffix(value, "min") {
		t.Errorf("settling time shown as %q", value)
	}
	if n := row.Next().Find("table.budget tbody tr").Length(); n < 1 {
		t.Errorf("a settling time whose uncertainty has %d sources", n)
	}
	for _, plot := range res.Analysis.Plots {
		if !strings.Contains(doc.Find("main").Text(), plot.Title) {
			t.Errorf("picture %q is missing", plot.Title)
		}
	}
	var document struct {
		Figures []struct {
			ID, Kind, Unit, Method string
			Value, U               float64
			Conditions             map[string]string
			Sources                []struct{ ID, Name string }
		}
		Notes, Warnings []string
	}
	w := b.send(request("GET", "/runs/"+id+"/figures.json", nil))
	if err := json.Unmarshal(w.Body.Bytes(), &document); err != nil {
		t.Fatal(err)
	}
	if len(document.Figures) != len(res.Analysis.Figures) {
		t.Errorf("%d figures in JSON, %d computed", len(document.Figures), len(res.Analysis.Figures))
	}
	for i, f := range document.Figures {
		if f.ID != res.Analysis.Figures[i].ID || f.Method == "" || (f.Kind == "value" && f.Value != res.Analysis.Figures[i].Value.Estimate()) {
			t.Errorf("figure %d in JSON: %+v", i, f)
		}
	}
}

// A file comes back byte for byte, whatever was amended.
func TestRawDataComeBackAsGiven(t *testing.T) {
	b := stocked(t)
	id := b.firstRun()
	b.done("/runs/"+id+"/amend", url.Values{"kind": {"reading"}, "what": {"strike"}, "number": {"7"}, "reason": {"knocked the bench"}})
	w := b.send(request("GET", "/runs/"+id+"/raw", nil))
	if w.Body.String() != warmUp(2000, 1500, 0) {
		t.Error("the file is not what was imported")
	}
	if got := w.Header().Get("Content-Disposition"); !strings.Contains(got, "attachment") || !strings.Contains(got, "warm-up.csv") {
		t.Errorf("kept under %q", got)
	}
	w = b.send(request("GET", "/runs/"+id+"/readings.csv", nil))
	table, err := csv.NewReader(w.Body).ReadAll()
	if err != nil || len(table) != 241 {
		t.Fatalf("%d rows (%v), want a heading and 240", len(table), err)
	}
	if strings.Join(table[0], "|") != "reading|time (s)|frequency (Hz)|struck out" || table[7][0] != "7" || table[7][3] != "yes" || table[8][3] != "" {
		t.Errorf("heading %v, row %v", table[0], table[7])
	}
	if hz, err := strconv.ParseFloat(table[1][2], 64); err != nil || hz < 8_514_000 || hz > 8_515_000 {
		t.Errorf("first frequency %q", table[1][2])
	}
	b.page(b.send(request("GET", "/runs/none/readings.csv", nil)), "none", 404)
	b.page(b.send(request("GET", "/runs/none/raw", nil)), "none", 404)
}

// Striking out, restoring, a unit and a circumstance put right: each is listed
// with its reason, and a wrong one says what was expected.
func TestAmendmentsAreListedAndRefusedInPlace(t *testing.T) {
	b := stocked(t)
	id := b.firstRun()
	at := "/runs/" + id + "/amend"
	for _, form := range []url.Values{
		{"kind": {"reading"}, "what": {"strike"}, "row": {"12"}, "reason": {"the cat"}},
		{"kind": {"reading"}, "what": {"restore"}, "row": {"12"}, "reason": {"it was another cat"}},
		{"kind": {"option"}, "role": {"dial"}, "text": {"7.8 MHz"}, "reason": {"misread"}},
		{"kind": {"scale"}, "role": {"frequency"}, "factor": {"2"}, "reason": {"a divider stood before the counter"}},
		{"kind": {"note"}, "reason": {"thunder outside"}},
	} {
		b.done(at, form)
	}
	doc := b.get("/runs/"+id, 200)
	if n := doc.Find("#amendments > ul > li").Length(); n != 5 {
		t.Errorf("%d amendments listed, want 5", n)
	}
	if text := doc.Find(".facts").First().Text(); !strings.Contains(text, "7.8 MHz") {
		t.Errorf("circumstances %q", text)
	}
	for want, form := range map[string]url.Values{
		"rows 1 to 240": {"kind": {"reading"}, "what": {"strike"}, "number": {"999"}, "reason": {"x"}},
		"the number of": {"kind": {"reading"}, "what": {"strike"}, "number": {"twelve"}, "reason": {"x"}},
		"say why":       {"kind": {"note"}},
		"bananas":       {"kind": {"option"}, "role": {"dial"}, "text": {"7.8 bananas"}, "reason": {"x"}},
		"a number":      {"kind": {"scale"}, "role": {"frequency"}, "factor": {"much"}, "reason": {"x"}},
		"expected":      {"kind": {"burn"}, "reason": {"x"}},
	} {
		w := b.post(at, form)
		if w.Code != 422 && w.Code != 400 {
			t.Errorf("%v: status %d", form, w.Code)
		}
		if !strings.Contains(words(w.Body.String()), want) {
			t.Errorf("%v: the page does not say %q", form, want)
		}
	}
}

// A run that is hidden takes no part any more, says why, and comes back.
func TestARunIsHiddenForAReasonAndComesBack(t *testing.T) {
	b := stocked(t)
	id := b.firstRun()
	if w := b.post("/runs/"+id+"/hide", url.Values{}); w.Code != 422 {
		t.Errorf("hiding without a reason: %d", w.Code)
	}
	b.done("/runs/"+id+"/hide", url.Values{"reason": {"the wrong set was watched"}})
	if text := b.get("/runs/"+id, 200).Find(".notice").Text(); !strings.Contains(text, "the wrong set was watched") {
		t.Errorf("notice %q", text)
	}
	if n := b.get("/sets/turnstone", 200).Find(".runs li").Length(); n != 3 {
		t.Errorf("%d runs listed, want 3", n)
	}
	b.done("/runs/"+id+"/show", url.Values{})
	b.done("/runs/"+id+"/notes", url.Values{"title": {"The first morning"}, "notes": {"fog"}})
	if doc := b.get("/runs/"+id, 200); doc.Find("h1").Text() != "The first morning" {
		t.Errorf("title %q", doc.Find("h1").Text())
	}
}

// The readout's places are one for each reading, with what it says.
func TestPlacesForTheReadout(t *testing.T) {
	b := stocked(t)
	var doc placesDocument
	w := b.send(request("GET", "/runs/"+b.firstRun()+"/places.json?plot=0", nil))
	if err := json.Unmarshal(w.Body.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	if len(doc.Places) != 240 || len(doc.Texts) != 240 || len(doc.Sizes) != 2 || !strings.HasPrefix(doc.Texts[1], "60 s, ") {
		t.Errorf("%d places, first texts %v", len(doc.Places), doc.Texts[:min(2, len(doc.Texts))])
	}
	b.page(b.send(request("GET", "/runs/"+b.firstRun()+"/places.json?plot=99", nil)), "plot 99", 404)
}
