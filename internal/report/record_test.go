package report

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/internal/workshop/shoptest"
	"setwright/quantity"
)

// record writes the record of a set and reads it back as a page.
func record(t *testing.T, shop *workshop.Shop, set string) (workshop.Record, *goquery.Document, string) {
	t.Helper()
	rec, err := shop.Record(t.Context(), set, nil)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Record(&b, rec); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	return rec, doc, b.String()
}

// The story's record, looked at from several sides.
func TestRecordOfTheStory(t *testing.T) {
	rec, doc, html := record(t, shoptest.Told(t).Shop, "turnstone")
	for name, look := range map[string]func(*testing.T, workshop.Record, *goquery.Document, string){
		"needs nothing from outside": needsNothingFromOutside, "tells states and runs in order": tellsStatesAndRunsInOrder,
		"says what was amended and set aside": saysWhatWasAmendedAndSetAside, "judges modifications": judgesModificationsAndSaysHowToUndoThem,
		"says invented, and warns": saysInventedAndWarns,
	} {
		t.Run(name, func(t *testing.T) { look(t, rec, doc, html) })
	}
}

// The next owner opens the record in twenty years, on whatever there is then,
// and nothing of it may be missing.
func needsNothingFromOutside(t *testing.T, _ workshop.Record, doc *goquery.Document, html string) {
	needsNothing(t, doc, html)
}

var addresses = regexp.MustCompile(`url\(([^)]{0,20})|@import`)

func needsNothing(t *testing.T, doc *goquery.Document, html string) {
	t.Helper()
	for _, tag := range []string{"script", "link", "img", "iframe", "object", "base", "form"} {
		if doc.Find(tag).Length() > 0 {
			t.Errorf("it holds a %s", tag)
		}
	}
	doc.Find("[src], [href]").Each(func(_ int, s *goquery.Selection) { t.Errorf("it points to %q", s.AttrOr("href", s.AttrOr("src", ""))) })
	fonts := 0
	for _, m := range addresses.FindAllStringSubmatch(html, -1) {
		if !strings.HasPrefix(m[1], "data:font/woff;base") {
			t.Errorf("it points to %s", m[0])
		}
		fonts++
	}
	if fonts < 3 {
		t.Errorf("%d fonts inside, expected three at least", fonts)
	}
	if strings.Contains(html, "://") {
		t.Error("it holds an address")
	}
	if strings.Contains(html, "ZgotmplZ") {
		t.Error("a value was refused by the template")
	}
}

// The record tells the story in the order in which it happened, with the same
// sentences and numbers as everywhere.
func tellsStatesAndRunsInOrder(t *testing.T, rec workshop.Record, doc *goquery.Document, _ string) {
	var states []string
	doc.Find("section.state > h2").Each(func(_ int, s *goquery.Selection) { states = append(states, s.Text()) })
	if strings.Join(states, "|") != "as found|pair fitted|pair and feet" {
		t.Errorf("states %q", states)
	}
	doc.Find("section.state").Each(func(i int, s *goquery.Selection) {
		runs := s.Find("article.run")
		if runs.Length() != len(rec.States[i].Results) {
			t.Errorf("%s: %d runs, expected %d", states[i], runs.Length(), len(rec.States[i].Results))
		}
		runs.Each(func(k int, r *goquery.Selection) { checkRun(t, rec.States[i].Results[k], r) })
	})
}

// checkRun holds a run on paper to what its analysis says.
func checkRun(t *testing.T, res workshop.Result, r *goquery.Selection) {
	t.Helper()
	for _, sentence := range res.Analysis.Sentences {
		if !strings.Contains(r.Text(), sentence) {
			t.Errorf("%s lacks %q", res.Run.ID, sentence)
		}
	}
	cells := r.Find("table.figures td.n")
	if cells.Length() != len(res.Analysis.Figures) {
		t.Errorf("%s: %d figures on paper, %d found", res.Run.ID, cells.Length(), len(res.Analysis.Figures))
	}
	on := map[string]bool{}
	cells.Each(func(_ int, c *goquery.Selection) { on[c.Text()] = true })
	for _, f := range res.Analysis.Figures {
		if text := (quantity.Printer{Group: true}).Outcome(f.Outcome, f.Unit); !on[text] {
			t.Errorf("%s: %s of %s is not on paper", res.Run.ID, text, f.ID)
		}
	}
	if r.Find("svg.chart").Length() != 2 {
		t.Errorf("%s: %d drawings, expected a wide and a narrow one", res.Run.ID, r.Find("svg.chart").Length())
	}
	if sum := res.Run.Origin.SHA256; sum == "" || !strings.Contains(r.Find(".digest").Text(), sum) {
		t.Errorf("%s: the log cannot be told again by its hash", res.Run.ID)
	}
}

func saysWhatWasAmendedAndSetAside(t *testing.T, _ workshop.Record, doc *goquery.Document, _ string) {
	text := doc.Find("section.state").Text()
	for _, want := range []string{"reading 13 struck out: somebody leaned on the bench", "Set aside, not deleted", "Reading 41 at 41 min"} {
		if !strings.Contains(text, want) {
			t.Errorf("the record lacks %q", want)
		}
	}
}

func judgesModificationsAndSaysHowToUndoThem(t *testing.T, rec workshop.Record, doc *goquery.Document, _ string) {
	sections := doc.Find("section.modification")
	if sections.Length() != 2 {
		t.Fatalf("%d modifications", sections.Length())
	}
	sections.Each(func(i int, s *goquery.Selection) {
		rep := rec.Claims[i]
		if !strings.Contains(s.Text(), rep.Modification.Undo) {
			t.Errorf("%s: how to undo it is missing", rep.Modification.Title)
		}
		s.Find("table.stack").First().Find("td.verdict").Each(func(k int, c *goquery.Selection) {
			if c.Text() != string(rep.Claims[k].Verdict.Word) {
				t.Errorf("%s: verdict %q on paper, %q found", rep.Modification.Title, c.Text(), rep.Claims[k].Verdict.Word)
			}
		})
	})
	budget := sections.First().Find("table.budget").First()
	if !strings.Contains(budget.Text(), "run to run, as found") || budget.Find("rect").First().AttrOr("width", "") != "100" {
		t.Errorf("budget %q", budget.Text())
	}
}

// Who reads only the first page must not take the invented for the real, nor
// reach in without having been warned.
func saysInventedAndWarns(t *testing.T, _ workshop.Record, doc *goquery.Document, _ string) {
	if !strings.Contains(doc.Find(".invented").Text(), "There is no such set") {
		t.Error("an invented set is not called so")
	}
	text := doc.Find(".cautions").Text()
	if !strings.Contains(text, "lethal voltage") || !strings.Contains(text, "qualified person") {
		t.Errorf("cautions %q", text)
	}
}

func TestRecordOfARealSetIsNotCalledInvented(t *testing.T) {
	shop := shoptest.New(t)
	if _, err := shop.AddSet(t.Context(), receiver.Set{Name: "Owner's own"}, shoptest.Now); err != nil {
		t.Fatal(err)
	}
	if _, doc, _ := record(t, shop, "owner-s-own"); doc.Find(".invented").Length() > 0 {
		t.Error("a real set is called invented")
	}
}

// What people type is text and stays text, in the page and in the running
// heads of the printed pages.
func TestRecordEscapesWhatWasTyped(t *testing.T) {
	shop := shoptest.New(t)
	nasty := `"}</style><script>alert(1)</script> \ & "`
	set := receiver.Set{ID: "odd", Name: nasty, AsFound: nasty, Kind: nasty, Bands: []receiver.Band{{Name: nasty, LowHz: 1e6, HighHz: 2e6}}}
	if _, err := shop.AddSet(t.Context(), set, shoptest.Now); err != nil {
		t.Fatal(err)
	}
	_, doc, html := record(t, shop, "odd")
	needsNothing(t, doc, html)
	if got := doc.Find("h1").Text(); got != nasty {
		t.Errorf("name %q", got)
	}
	if !strings.Contains(doc.Find("style").Text(), `content: "\22 \7d \3c `) {
		t.Error("the running head does not hold the name as text")
	}
}

func TestRecordOfARunThatGaveNothingSaysWhy(t *testing.T) {
	s := shoptest.Told(t)
	id := s.Runs[6].ID
	for row := range 99 {
		if _, err := s.Shop.Amend(t.Context(), run.Amendment{RunID: id, Kind: run.AmendStrike, Row: row, Reason: "all of it is doubtful"}); err != nil {
			t.Fatal(err)
		}
	}
	_, doc, _ := record(t, s.Shop, "turnstone")
	if text := doc.Find("section.state").Last().Text(); !strings.Contains(text, "gave no figures") {
		t.Errorf("last state: %q", text)
	}
}
