package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"setwright/internal/measure"
	"setwright/internal/report"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// cardPage is the typed-in twin of a bench card: the same blanks in the same
// order.
type cardPage struct {
	Page
	workshop.BenchCard
	Problem string
	Address string // of the form
	Card    string // of the printed card
	State   string // id of the state; empty where it is still to be chosen
	Before  []Field
	Unit    Field // of bare readings; without a name where none can be chosen
	Columns []measure.ColumnSpec
	Rows    []cardRow
	Notes   string
}

// cardRow is one row of the card as it was typed.
type cardRow struct {
	Number int
	Time   string
	Cells  []cardCell
	Struck bool
	Wrong  bool
}

type cardCell struct{ Name, Label, Value string }

// cardLink leads to the printed card of a measurement and to its twin.
type cardLink struct{ Title, Print, Enter string }

// cardLinks are the cards of all measurements that can be done with one, or of
// the one named.
func (s *Server) cardLinks(state, only string) []cardLink {
	query := ""
	if state != "" {
		query = "?" + url.Values{"state": {state}}.Encode()
	}
	var out []cardLink
	for _, id := range s.shop.Registry.IDs() {
		m, err := s.shop.Registry.Get(id)
		if err != nil || only != "" && id != only {
			continue
		}
		if _, ok := m.(measure.Carded); ok {
			at := "/card/" + url.PathEscape(id)
			out = append(out, cardLink{m.About().Title, at + query, at + "/enter" + query})
		}
	}
	return out
}

// askCard shows the empty twin.
func (s *Server) askCard(w http.ResponseWriter, r *http.Request) error {
	p, err := s.cardPage(r, nil)
	if err != nil {
		return err
	}
	return s.show(w, r, "card", p)
}

// takeCard stores a filled card as a run, or shows it again with what was wrong.
func (s *Server) takeCard(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	p, err := s.cardPage(r, form)
	if err != nil {
		return err
	}
	entry, err := p.entry(form)
	if err == nil {
		var made run.Run
		if made, err = s.shop.EnterCard(r.Context(), entry); err == nil {
			http.Redirect(w, r, "/runs/"+pathOf(made.ID)+"?done=stored", http.StatusSeeOther)
			return nil
		}
	}
	a := answerOf(err)
	if a.status >= 500 {
		return err
	}
	p.Problem, p.Status = a.text, a.status
	var wrong *workshop.CardRowError
	if errors.As(err, &wrong) && wrong.Row <= len(p.Rows) {
		p.Rows[wrong.Row-1].Wrong = true
	}
	return s.show(w, r, "card", p)
}

// cardPage makes the page of a card; sent is what was typed, nil for a fresh
// one.
func (s *Server) cardPage(r *http.Request, sent url.Values) (cardPage, error) {
	state := r.FormValue("state")
	c, err := s.shop.BenchCard(r.Context(), r.PathValue("measurement"), state)
	if err != nil {
		return cardPage{}, notFoundIfUnknown(err, "")
	}
	query := ""
	if state != "" {
		query = "?" + url.Values{"state": {state}}.Encode()
	}
	at := "/card/" + url.PathEscape(c.About.ID)
	p := cardPage{Page: Page{Title: "A filled card: " + c.About.Title, Nav: "type", Where: []Link{{"Shelf", "/"}}},
		Notes: sent.Get("notes"), BenchCard: c, Address: at + "/enter", Card: at + query, State: c.State.ID}
	if c.Set.ID != "" {
		p.Where = append(p.Where, Link{c.Set.Name, "/sets/" + pathOf(c.Set.ID)})
	}
	states, err := s.stateChoices(r.Context())
	if err != nil {
		return p, err
	}
	for i, line := range c.Card.Before {
		if f, ok := p.lineField(i, line, states); ok {
			p.Before = append(p.Before, f)
		}
	}
	p.Before = fill(p.Before, sent)
	p.Columns, p.Unit = cardColumns(c)
	p.Unit = fill([]Field{p.Unit}, sent)[0]
	p.Rows = p.cardRows(sent)
	return p, nil
}

// lineField is the entry of one line of the card; the set is told by its state.
func (p cardPage) lineField(i int, line measure.CardLine, states []Choice) (Field, bool) {
	f := Field{Name: fmt.Sprintf("line-%d", i), Label: line.Label}
	switch line.Fact {
	case measure.FactSet:
		return f, false
	case measure.FactState:
		f.Name, f.Kind, f.Choices, f.Value, f.Required = "state", "select", append([]Choice{{"", "Choose"}}, states...), p.State, true
	case measure.FactDay:
		f.Name, f.Kind, f.Required = "day", "date", true
	case measure.FactClock:
		f.Name, f.Example = "clock", "07:31:05"
	case measure.FactOperator:
		f.Name = "by"
	case measure.FactInstrument:
		f.Name = "instrument"
		if len(p.Instruments) > 0 {
			f.Kind, f.Choices = "select", []Choice{{"", "not in the book"}}
			for _, in := range p.Instruments {
				f.Choices = append(f.Choices, Choice{in.ID, in.Name})
			}
		}
	}
	for _, o := range p.About.Options {
		if o.Name == line.Option {
			f = optionField(o)
			f.Label = line.Label
		}
	}
	return f, true
}

// cardColumns are the columns beside the time, and the unit of bare readings.
func cardColumns(c workshop.BenchCard) ([]measure.ColumnSpec, Field) {
	var out []measure.ColumnSpec
	for _, col := range c.Card.Columns {
		if col.Role != "time" {
			out = append(out, col)
		}
	}
	unit := Field{Name: "unit", Label: "Readings without a unit are in", Kind: "select"}
	first := c.About.TypedColumns()[0]
	if first.Unit != "Hz" || !slices.ContainsFunc(out, func(col measure.ColumnSpec) bool { return col.Role == first.Role }) {
		return out, Field{}
	}
	for _, u := range []string{"kHz", "MHz", "Hz"} {
		unit.Choices = append(unit.Choices, Choice{u, u})
	}
	unit.Value = "kHz"
	return out, unit
}

// cardRows are the rows in the order of the printed card, its spare ones too.
func (p cardPage) cardRows(sent url.Values) []cardRow {
	var out []cardRow
	for i := range p.BenchCard.Card.Len() + report.SpareRows {
		row := cardRow{Number: i + 1}
		if i < len(p.BenchCard.Card.AtS) {
			row.Time = workshop.Minutes(p.BenchCard.Card.AtS[i])
		}
		at := fmt.Sprintf("time-%d", i+1)
		if _, typed := sent[at]; typed {
			row.Time = sent.Get(at)
		}
		row.Struck = sent.Get(fmt.Sprintf("struck-%d", i+1)) != ""
		for _, c := range p.Columns {
			name := fmt.Sprintf("%s-%d", c.Role, i+1)
			value := p.BenchCard.Card.Print(i, c.Role)
			if _, typed := sent[name]; typed {
				value = sent.Get(name)
			}
			row.Cells = append(row.Cells, cardCell{name, fmt.Sprintf("%s, row %d", measure.Capital(c.Title), i+1), value})
		}
		out = append(out, row)
	}
	return out
}

// entry reads what was typed.
func (p cardPage) entry(form url.Values) (workshop.CardEntry, error) {
	e := workshop.CardEntry{Unit: text(form, "unit"), NewRun: workshop.NewRun{
		State: text(form, "state"), Measurement: p.About.ID, Options: map[string]string{}, Notes: text(form, "notes"),
		Setup: run.Setup{Operator: text(form, "by"), Day: text(form, "day")},
	}}
	if e.State == "" {
		return e, badRequest("State: choose the state the set was in.")
	}
	for _, line := range p.BenchCard.Card.Before {
		if line.Option != "" {
			e.Options[line.Option] = workshop.TypedLine(line, form.Get("opt "+line.Option))
		}
	}
	p.instrument(&e, text(form, "instrument"))
	var err error
	if e.Started, err = cardMoment(text(form, "day"), text(form, "clock")); err != nil {
		return e, err
	}
	for i, row := range p.Rows {
		one := workshop.CardRow{Time: row.Time, Struck: row.Struck, Values: map[string]string{}}
		untouched := true // holds nothing but what was printed
		for k, c := range p.Columns {
			one.Values[c.Role] = row.Cells[k].Value
			untouched = untouched && (row.Cells[k].Value == "" || row.Cells[k].Value == p.BenchCard.Card.Print(i, c.Role))
		}
		if untouched {
			one.Values = nil
		}
		e.Rows = append(e.Rows, one)
	}
	return e, nil
}

// instrument puts the instrument into the set-up; one that the book does not
// know goes into the notes.
func (p cardPage) instrument(e *workshop.CardEntry, typed string) {
	for _, in := range p.Instruments {
		if in.ID == typed {
			e.Setup.Instruments = []run.Instrument{in}
			return
		}
	}
	if typed != "" {
		e.Notes = strings.TrimSpace("Read with: " + typed + "\n" + e.Notes)
	}
}

// cardMoment is the moment of power-on: the day, and the clock where it was
// noted.
func cardMoment(day, clock string) (time.Time, error) {
	if day == "" {
		return time.Time{}, badRequest("Date: say on which day the run was made.")
	}
	if clock == "" {
		clock = "00:00"
	}
	for _, layout := range []string{"2006-01-02 15:04:05", "2006-01-02 15:04"} {
		if t, err := time.ParseInLocation(layout, day+" "+clock, time.Local); err == nil {
			return t, nil
		}
	}
	return time.Time{}, badRequest("Switched on: found %q on %q, expected a day such as 2024-02-03 and a time of day such as 07:31:05.", clock, day)
}
