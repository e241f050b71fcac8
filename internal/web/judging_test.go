package web

import (
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/internal/workshop/shoptest"
	"setwright/judge"
)

// toldBench is a bench with the story of two invented sets.
func toldBench(t *testing.T) (*bench, shoptest.Story) {
	t.Helper()
	b := newBench(t)
	s := shoptest.Told(t)
	b.shop = s.Shop
	b.Server.shop = s.Shop
	return b, s
}

const pairCompared = "/compare?a=turnstone/as-found&b=turnstone/pair-fitted"

// Page, record and JSON are three doors to the same numbers.
func TestPageRecordAndDocumentShowTheSameNumbers(t *testing.T) {
	b, _ := toldBench(t)
	page := rowsOf(b.get(pairCompared, 200).Find("table.verdicts"))
	record := rowsOf(b.get("/record/turnstone", 200).Find("section.modification").First().Find("table.stack").Last())
	if len(page) < 8 || len(page) != len(record) {
		t.Fatalf("%d rows on the page, %d in the record", len(page), len(record))
	}
	for i := range page {
		for k := range 5 {
			if page[i][k] != record[i][k] && !strings.EqualFold(page[i][k], record[i][k]) {
				t.Errorf("row %d: %q on the page, %q in the record", i+1, page[i][k], record[i][k])
			}
		}
	}
	checkDocument(t, b, page)
}

// checkDocument holds the page to the document's values.
func checkDocument(t *testing.T, b *bench, page [][]string) {
	t.Helper()
	w := b.send(request("GET", strings.Replace(pairCompared, "/compare", "/compare/verdicts.json", 1), nil))
	var doc workshop.ComparisonDocument
	if err := json.Unmarshal(w.Body.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	if len(doc.Verdicts) != len(page) || !doc.Fair {
		t.Fatalf("%d verdicts in the document, %d on the page", len(doc.Verdicts), len(page))
	}
	values := 0
	for i, v := range doc.Verdicts {
		if page[i][4] != string(v.Word) {
			t.Errorf("%s: %q on the page, %q in the document", v.Figure, page[i][4], v.Word)
		}
		if !strings.Contains(page[i][3], "±") || strings.Contains(page[i][3], "than") || v.Unit == "count" {
			continue // a bound, an interval, a count
		}
		values++
		number, rest, _ := strings.Cut(page[i][3], " ± ")
		_, unit, _ := strings.Cut(rest, "\u00a0")
		shown, err := measure.ParseNumber(number+" "+unit, v.Unit)
		if err != nil || math.Abs(shown-v.Difference.Estimate()) > 0.06*v.Difference.U() {
			t.Errorf("%s: %q on the page, %v in the document (%v)", v.Figure, page[i][3], v.Difference, err)
		}
	}
	if values < 5 {
		t.Errorf("only %d differences were compared as values", values)
	}
}

// rowsOf reads a table of verdicts: figure, A, B, difference, word.
func rowsOf(table *goquery.Selection) [][]string {
	var out [][]string
	table.Find("tbody tr").Each(func(_ int, r *goquery.Selection) {
		var cells []string
		r.Find("th, td").Each(func(_ int, c *goquery.Selection) { cells = append(cells, strings.TrimSpace(c.Text())) })
		out = append(out, cells)
	})
	return out
}

// Conditions come before any number, and the sides are told apart by more than
// their colour.
func TestComparisonSaysFirstWhetherTheRunsWereAlike(t *testing.T) {
	b, _ := toldBench(t)
	doc := b.get(pairCompared, 200)
	ids := doc.Find("main section").Map(func(_ int, s *goquery.Selection) string { return s.AttrOr("id", "") })
	if strings.Join(ids[:3], " ") != "conditions answer budgets" {
		t.Errorf("sections in the order %q", ids)
	}
	if n := doc.Find("#conditions tbody tr").Length(); n < 5 {
		t.Errorf("%d conditions shown", n)
	}
	if doc.Find("#conditions").PrevAll().Find("td.n").Length() > 0 || strings.Contains(doc.Find("#conditions").PrevAll().Text(), "±") {
		t.Error("a number stands before the conditions")
	}
	if doc.Find("th.mark-a").Length() == 0 || doc.Find("th.mark-b").Length() == 0 || doc.Find("#answer svg .ring.b").Length() == 0 {
		t.Error("the sides have no marks of their own")
	}
	if first := doc.Find("#answer .finding").First().Text(); !strings.HasPrefix(first, "Pair fitted against as found: better on settling time") {
		t.Errorf("answer %q", first)
	}
}

// A local oscillator and a BFO cannot be compared, and no verdict may slip out.
func TestBlockedComparisonGivesNoVerdict(t *testing.T) {
	b, _ := toldBench(t)
	doc := b.get("/compare?a=turnstone&b=whimbrel", 200)
	if text := doc.Find(".finding").First().Text(); !strings.Contains(text, "cannot be compared") {
		t.Errorf("finding %q", text)
	}
	if !strings.Contains(doc.Find("#conditions").Text(), "The oscillator watched differs: local on side A, bfo on side B") {
		t.Errorf("the reason is missing: %s", doc.Find("#conditions").Text())
	}
	if doc.Find(".verdicts, .made, main svg.chart").Length() > 0 {
		t.Error("a verdict or a picture is shown all the same")
	}
}

// Each verdict can be taken apart: sources, runs, scatter, amount that matters.
func TestVerdictShowsWhatItRestsOn(t *testing.T) {
	b, s := toldBench(t)
	doc := b.get(pairCompared, 200)
	made := doc.Find("details.made").FilterFunction(func(_ int, d *goquery.Selection) bool {
		return strings.HasPrefix(d.Find("summary").Text(), "Settling time to ±100 Hz")
	})
	if made.Length() != 1 {
		t.Fatal("no details of the settling time")
	}
	for _, want := range []string{"Run to run, as found", "five minutes of waiting", "5 min", "from these runs", "no difference at all: p", "judged together", "No more runs are needed"} {
		if !strings.Contains(made.Text(), want) {
			t.Errorf("details lack %q", want)
		}
	}
	if n := made.Find(".run-values tbody tr").Length(); n != 6 {
		t.Errorf("%d runs listed, expected six", n)
	}
	if href := made.Find(".run-values a").First().AttrOr("href", ""); href != "/runs/"+s.Runs[0].ID {
		t.Errorf("the first run is at %q", href)
	}
	if made.Find(".budget rect").First().AttrOr("width", "") != "100" || made.Find("svg.chart").Length() != 2 {
		t.Error("bars or the picture of single runs are missing")
	}
}

func TestComparisonOfWhatIsNotThereKeepsTheChoice(t *testing.T) {
	b, _ := toldBench(t)
	doc := b.get("/compare?a=turnstone/as-found&b=curlew", 422)
	if !strings.Contains(doc.Find(".wrong").Text(), `nothing in the book is called "curlew"`) && !strings.Contains(doc.Find(".wrong").Text(), `Nothing in the book is called "curlew"`) {
		t.Errorf("said %q", doc.Find(".wrong").Text())
	}
	if doc.Find("select[name=a] option[selected]").AttrOr("value", "") != "turnstone/as-found" {
		t.Error("side A was forgotten")
	}
}

func TestModificationIsJudgedAndCanBeUndone(t *testing.T) {
	b, s := toldBench(t)
	doc := b.get("/modifications/"+s.Pair.ID, 200)
	text := doc.Find("main").Text()
	for _, want := range []string{"two small capacitors", "the original is in bag 7", "pencilled sheet", "local oscillator", "It does what it is said to do", "qualified persons"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	words := doc.Find("table.claims td.verdict").Map(func(_ int, c *goquery.Selection) string { return c.Text() })
	if strings.Join(words, "|") != "kept|kept" {
		t.Errorf("verdicts %q", words)
	}
	if href := doc.Find("table.claims a").First().AttrOr("href", ""); href != "/plan/turnstone/compensating-pair%231" {
		t.Errorf("the plan is at %q", href)
	}
	b.get("/modifications/turnstone/none", 404)
}

// A plan shows which runs were made and which comes next; made before anybody
// soldered, it counts the runs of the configuration that came of it.
func TestPlanKeepsCount(t *testing.T) {
	b, s := toldBench(t)
	if text := b.get("/plan/"+pathOf(s.Pair.Claims[0].ID), 200).Find("main").Text(); !strings.Contains(text, "No plan yet") {
		t.Errorf("before any plan: %q", text)
	}
	at := b.done("/plan/"+pathOf(s.Pair.Claims[0].ID), url.Values{"swap": {string(judge.BySwitch)}, "per_day": {"1"}})
	doc := b.get(at, 200)
	marks := doc.Find(".order li")
	if marks.Length() < 4 || marks.Filter(".run-a").Length() != marks.Filter(".run-b").Length() {
		t.Errorf("order %q", marks.Text())
	}
	if marks.Filter(".done").Length() != marks.Length() || !strings.Contains(doc.Find(".finding").Text(), "judge them now") {
		t.Errorf("three runs a side are made, the page says %q", doc.Find(".finding").Text())
	}
	if doc.Find("select[name=swap] option[selected]").AttrOr("value", "") != string(judge.BySwitch) {
		t.Error("the form forgot how it goes in and out")
	}
}

func TestPlanRefusesADayOfTooManyMornings(t *testing.T) {
	b, s := toldBench(t)
	w := b.post("/plan/"+pathOf(s.Pair.Claims[0].ID), url.Values{"swap": {"soldering"}, "per_day": {"dozen"}})
	doc := b.page(w, "plan", http.StatusUnprocessableEntity)
	if !strings.Contains(doc.Find(".wrong").Text(), "“dozen”") || doc.Find("input[name=per_day]").AttrOr("value", "") != "dozen" {
		t.Errorf("said %q", doc.Find(".wrong").Text())
	}
}

// Changing what matters changes verdicts, with a reason, and can be taken back.
func TestAmountThatMattersIsEditedWithItsReason(t *testing.T) {
	b, _ := toldBench(t)
	row := func(doc *goquery.Document) (string, string) {
		r := doc.Find("tr#excursion")
		return r.Find("input[name=amount]").AttrOr("value", ""), r.Text()
	}
	w := b.post("/amounts", url.Values{"figure": {"excursion"}, "amount": {"2 kHz"}, "what": {"keep"}})
	doc := b.page(w, "/amounts", http.StatusUnprocessableEntity)
	if got, text := row(doc); got != "2 kHz" || !strings.Contains(text, "say why") {
		t.Errorf("without a reason: %q %q", got, text)
	}
	b.done("/amounts", url.Values{"figure": {"excursion"}, "amount": {"2 kHz"}, "why": {"we only listen to broadcast"}, "what": {"keep"}})
	if got, text := row(b.get("/amounts", 200)); got != "2 kHz" || !strings.Contains(text, "this book's own") {
		t.Errorf("kept: %q %q", got, text)
	}
	for _, r := range rowsOf(b.get(pairCompared, 200).Find("table.verdicts")) {
		if r[0] == "Excursion" && r[4] != string(judge.NoDifference) {
			t.Errorf("excursion is now %q", r[4])
		}
	}
	b.done("/amounts", url.Values{"figure": {"excursion"}, "what": {"default"}})
	if got, text := row(b.get("/amounts", 200)); got != "100 Hz" || !strings.Contains(text, "as proposed") {
		t.Errorf("back to default: %q %q", got, text)
	}
}

// What the table shows can be sent back as it stands.
func TestEveryAmountCanBeTypedAsItIsShown(t *testing.T) {
	b, _ := toldBench(t)
	b.get("/amounts", 200).Find("table.amounts tbody tr").Each(func(_ int, r *goquery.Selection) {
		id, shown := r.AttrOr("id", ""), r.Find("input[name=amount]").AttrOr("value", "")
		if shown != "" {
			b.done("/amounts", url.Values{"figure": {id}, "amount": {shown}, "why": {"as it was"}, "what": {"keep"}})
			if again := b.get("/amounts", 200).Find("tr#"+id+" input[name=amount]").AttrOr("value", ""); again != shown {
				t.Errorf("%s: %q became %q", id, shown, again)
			}
		}
	})
}

// filledCard is a card as it was filled in at the bench.
func filledCard(state string) url.Values {
	form := url.Values{"state": {state}, "day": {"2024-02-19"}, "clock": {"07:31:05"}, "by": {"A. Keeper"}, "unit": {"kHz"},
		"opt off_time": {"14"}, "opt oscillator": {"local"}, "opt dial": {"7.9 MHz"}, "opt ambient": {"18,5"}, "opt line_voltage": {"231"},
		"instrument": {"old counter"}, "notes": {"door slammed at 20 min"}}
	for i, reading := range []string{"8511.204", "8511,390", "8511.55", "8511.7", "85118", "8511.9"} {
		form.Set("time-"+string(rune('1'+i)), []string{"1", "2", "3", "4", "5", "7"}[i])
		form.Set("frequency-"+string(rune('1'+i)), reading)
	}
	form.Set("struck-5", "1")
	return form
}

// The reach of a beat oscillator is read at both ends of its control, in any
// minute: a card without times is whole, and its bare readings are kilohertz.
func TestCardWithoutTimesBecomesARun(t *testing.T) {
	b, s := toldBench(t)
	form := url.Values{"state": {s.Padded.ID}, "day": {"2024-02-19"}, "unit": {"kHz"}, "opt centre": {"612 kHz"}}
	for i, reading := range []string{"609.1", "614.8", "609.2", "614.9"} {
		form.Set("position-"+string(rune('1'+i)), []string{"0", "10", "0", "10"}[i])
		form.Set("frequency-"+string(rune('1'+i)), reading)
	}
	at := b.done("/card/bfo/enter", form)
	id := strings.TrimPrefix(strings.TrimSuffix(at, "?done=stored"), "/runs/")
	res := must[workshop.Result](t)(b.shop.Result(t.Context(), id, nil, nil))
	if f := res.Raw.Series.Column("frequency"); f == nil || len(f.Values) != 4 || f.Values[0] != 609100 {
		t.Fatalf("readings %+v", f)
	}
	if len(res.Analysis.Figures) == 0 || !strings.Contains(b.get("/card/bfo/enter", 200).Find("select[name=unit]").Text(), "kHz") {
		t.Errorf("figures %+v", res.Analysis.Figures)
	}
}

// The twin asks in the order of the paper, and what was typed becomes a run.
func TestFilledCardBecomesARun(t *testing.T) {
	b, s := toldBench(t)
	twin := b.get("/card/drift/enter?state="+s.Padded.ID, 200)
	printed := b.get("/card/drift?state="+s.Padded.ID, 200)
	labels := twin.Find("section").First().Find(".label").Map(func(_ int, l *goquery.Selection) string {
		return strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(l.Text()), "needed"))
	})
	blanks := printed.Find("dl dt").Map(func(_ int, l *goquery.Selection) string { return l.Text() })
	if strings.Join(labels, "|") != strings.Join(blanks[1:], "|") {
		t.Errorf("twin asks %q, the card %q", labels, blanks)
	}
	if twin.Find("tbody tr").Length() != printed.Find("tbody tr").Length() {
		t.Error("twin and card have unlike numbers of rows")
	}
	at := b.done("/card/drift/enter", filledCard(s.Padded.ID))
	id := strings.TrimPrefix(strings.TrimSuffix(at, "?done=stored"), "/runs/")
	res := must[workshop.Result](t)(b.shop.Result(t.Context(), id, nil, nil))
	f := res.Raw.Series.Column("frequency")
	if f == nil || len(f.Values) != 5 || f.Values[1] != 8511390 {
		t.Fatalf("readings %+v", f)
	}
	if len(res.Amendments) != 1 || res.Amendments[0].Kind != run.AmendStrike || res.Amendments[0].Row != 4 {
		t.Errorf("the struck row: %+v", res.Amendments)
	}
	o := res.Run.Options
	if o["off_time"] != "14 h" || o["ambient"] != "18,5 °C" || o["line_voltage"] != "231 V" || !strings.Contains(res.Run.Notes, "old counter") || res.Run.Setup.Operator != "A. Keeper" {
		t.Errorf("header %+v", res.Run)
	}
	b.get(at, 200)
}

// A card with a fault comes back as it was typed, and names the row.
func TestFaultyCardKeepsWhatWasTypedAndNamesTheRow(t *testing.T) {
	b, s := toldBench(t)
	form := filledCard(s.Padded.ID)
	form.Set("frequency-3", "8511.5 kg")
	doc := b.page(b.post("/card/drift/enter", form), "card", http.StatusUnprocessableEntity)
	if text := doc.Find(".wrong").Text(); !strings.Contains(text, "ow 3 of the card") || !strings.Contains(text, "kg") {
		t.Errorf("said %q", text)
	}
	if got := doc.Find("tr.refused th").Text(); got != "3" {
		t.Errorf("row %q is marked", got)
	}
	for name, want := range map[string]string{"frequency-3": "8511.5 kg", "frequency-2": "8511,390", "time-6": "7", "clock": "07:31:05"} {
		if got := doc.Find("input[name='"+name+"']").AttrOr("value", ""); got != want {
			t.Errorf("%s was %q, is %q", name, want, got)
		}
	}
	if doc.Find("input[name=struck-5][checked]").Length() != 1 || doc.Find("textarea[name=notes]").Text() != "door slammed at 20 min" {
		t.Error("the struck row or the notes are lost")
	}
	form = filledCard("")
	if doc := b.page(b.post("/card/drift/enter", form), "card", http.StatusBadRequest); !strings.Contains(doc.Find(".wrong").Text(), "choose the state") {
		t.Errorf("without a state: %q", doc.Find(".wrong").Text())
	}
}

func TestRecordAndCardAreFilesOfTheirOwn(t *testing.T) {
	b, _ := toldBench(t)
	w := b.send(request("GET", "/record/turnstone?download=1", nil))
	if h := w.Header(); h.Get("Content-Disposition") != `attachment; filename="record-turnstone.html"` || !strings.Contains(h.Get("Content-Security-Policy"), "default-src 'none'") {
		t.Errorf("headers %v", h)
	}
	b.get("/record/curlew", 404)
	b.get("/card/smell", 404)
	b.get("/card/drift?state=curlew", 404)
}

// What people type is text and stays text on every page.
func TestJudgingPagesEscapeWhatWasTyped(t *testing.T) {
	b, s := toldBench(t)
	nasty := `"><script>alert(1)</script>`
	m := s.Pair
	m.LookFor, m.Undo, m.Title = nasty, nasty, m.Title+nasty
	if err := b.shop.EditModification(t.Context(), m, "test"); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/modifications/" + m.ID, "/plan/" + pathOf(m.Claims[0].ID), "/compare?a=" + url.QueryEscape(nasty) + "&b=x"} {
		w := b.send(request("GET", path, nil))
		doc, err := goquery.NewDocumentFromReader(w.Body)
		if err != nil {
			t.Fatal(err)
		}
		if doc.Find("main script").Length() > 0 || !strings.Contains(doc.Find("main").Text(), nasty) {
			t.Errorf("%s does not show what was typed as text", path)
		}
	}
}
