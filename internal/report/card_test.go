package report

import (
	"bytes"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"setwright/internal/receiver"
	"setwright/internal/workshop"
	"setwright/internal/workshop/shoptest"
)

func card(t *testing.T, state string) (workshop.BenchCard, *goquery.Document, string) {
	t.Helper()
	shop := shoptest.New(t)
	if _, err := shop.AddSet(t.Context(), receiver.Set{Name: "Turnstone", Serial: "T-17"}, shoptest.Now); err != nil {
		t.Fatal(err)
	}
	c, err := shop.BenchCard(t.Context(), "drift", state)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Card(&b, c); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	return c, doc, b.String()
}

// The card goes to a bench without a computer: it must hold every blank, in the
// order in which it is typed in later, and the minutes at which to read.
func TestCardHasItsBlanksInOrder(t *testing.T) {
	c, doc, html := card(t, "turnstone/as-found")
	needsNothing(t, doc, html)
	doc.Find("dl dt").Each(func(i int, s *goquery.Selection) {
		if s.Text() != c.Card.Before[i].Label {
			t.Errorf("blank %d is %q, expected %q", i+1, s.Text(), c.Card.Before[i].Label)
		}
	})
	rows := doc.Find("tbody tr")
	if rows.Length() != len(c.Card.AtS)+SpareRows || rows.Length() < 20 {
		t.Errorf("%d rows for %d readings", rows.Length(), len(c.Card.AtS))
	}
	if at := rows.Eq(9).Find(".at").Text(); at != "15" {
		t.Errorf("tenth reading at %q, expected 15 min", at)
	}
	if at := rows.Last().Find(".at").Text(); at != "" {
		t.Errorf("a spare row has the minute %q", at)
	}
	if got := doc.Find("dl dd").First().Text(); got != "Turnstone, T-17" {
		t.Errorf("the set is known and is not printed: %q", got)
	}
}

// Cautions stand where the hand goes, each once.
func TestCardWarnsAtTheStep(t *testing.T) {
	_, doc, _ := card(t, "")
	step := doc.Find("ol li").Eq(1)
	if !strings.Contains(step.Text(), "Couple the counter") || !strings.Contains(step.Find(".caution").Text(), "lethal voltage") {
		t.Errorf("step %q", step.Text())
	}
	if n := strings.Count(doc.Text(), "lethal voltage"); n != 1 {
		t.Errorf("the warning stands %d times", n)
	}
	if got := doc.Find("dl dd").Text(); strings.TrimSpace(got) != "" {
		t.Errorf("a card of no set has %q printed in its blanks", got)
	}
}

func TestCardOfAnUnknownMeasurementOrStateIsRefused(t *testing.T) {
	s := shoptest.New(t)
	for _, c := range [][2]string{{"smell", ""}, {"drift", "curlew"}} {
		if _, err := s.BenchCard(t.Context(), c[0], c[1]); err == nil {
			t.Errorf("card of %v", c)
		}
	}
}

// A card of whatever measurement has room for a pencil: rows enough for a
// sitting, and a unit only at the head of a column that has one.
func TestEveryCardHasRoomToWrite(t *testing.T) {
	s := shoptest.New(t)
	cards := 0
	for _, id := range s.Registry.IDs() {
		c, err := s.BenchCard(t.Context(), id, "")
		if err != nil {
			t.Errorf("%s: %v", id, err)
			continue
		}
		var b bytes.Buffer
		if err := Card(&b, c); err != nil {
			t.Fatal(err)
		}
		doc, err := goquery.NewDocumentFromReader(&b)
		if err != nil {
			t.Fatal(err)
		}
		cards++
		if n := doc.Find("tbody tr").Length(); n < 15 {
			t.Errorf("%s: %d rows", id, n)
		}
		doc.Find("thead th").Each(func(_ int, th *goquery.Selection) {
			if text := th.Text(); strings.HasSuffix(text, ", 1") || text == "position of the control, with unit" {
				t.Errorf("%s: a column is headed %q", id, text)
			}
		})
		if !strings.Contains(doc.Text(), "qualified person") && id != "bfo" {
			t.Errorf("%s: nobody qualified is deferred to", id)
		}
	}
	if cards < 6 {
		t.Errorf("%d cards", cards)
	}
}
