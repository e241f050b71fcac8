package web

import (
	"net/http"
	"strconv"

	"setwright/internal/chart"
	"setwright/internal/receiver"
	"setwright/internal/report"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// setPage is a set with its states on a line of time.
type setPage struct {
	Page
	View     workshop.SetView
	Present  workshop.StateView
	Latest   []saying // of each measurement
	Cards    []cardLink
	Timeline chart.Timeline
	History  []workshop.Change
	Undo     *workshop.Change // of what was just done
	Pairs    Form             // to compare two states
}

// notices are what pages say after something was done; the address carries
// only the key.
var notices = map[string]string{
	"taken-in": "Taken in. Its first state is “as found”: import a log or type readings into it.",
	"added":    "Added.", "changed": "Changed.", "back": "Put back as it was.", "stored": "Stored. The file is kept as it was given.",
	"amended": "Noted. The raw data stay as they are; the figures were computed anew.", "hidden": "Hidden; it stays in the book.",
	"shown": "Shown again.", "finished": "Finished. The readings are complete.",
	"calibrated": "Calibrated: from now on its errors are named sources of every figure made with it.",
	"recorded":   "Recorded and stored.", "recovered": "Kept, as far as it was on the disk.",
}

// set shows a set.
func (s *Server) set(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("set")
	v, err := s.shop.SetView(r.Context(), id, true)
	if err != nil {
		return err
	}
	p := setPage{Page: Page{Title: v.Set.Name, Nav: "shelf", Where: []Link{{"Shelf", "/"}}}, View: v}
	if p.History, err = s.shop.History(r.Context(), id, 8); err != nil {
		return err
	}
	done := r.URL.Query().Get("done")
	p.Notice = notices[done]
	if done == "changed" && len(p.History) > 0 {
		p.Undo = &p.History[0]
	}
	if n := len(v.States); n > 0 {
		p.Present = v.States[n-1]
	}
	p.Latest = latestWords(v)
	p.Cards = s.cardLinks(p.Present.State.ID, "")
	p.Timeline = report.Timeline(v, s.shop.Clock())
	p.Pairs = pairForm(v)
	return s.show(w, r, "set", p)
}

// saying is what the latest run of a measurement says.
type saying struct{ Run, Title, Text string }

// latestWords are the first sentences of the latest run of each measurement,
// the newest first.
func latestWords(v workshop.SetView) []saying {
	var out []saying
	told := map[string]bool{}
	for i := len(v.States) - 1; i >= 0; i-- {
		runs := v.States[i].Runs
		for k := len(runs) - 1; k >= 0; k-- {
			r := runs[k]
			if r.Sentence == "" || told[r.Run.Measurement] {
				continue
			}
			told[r.Run.Measurement] = true
			out = append(out, saying{r.Run.ID, r.Title, r.Sentence})
		}
	}
	return out
}

// pairForm asks which two states to compare.
func pairForm(v workshop.SetView) Form {
	var choices []Choice
	for _, c := range v.Configurations {
		choices = append(choices, Choice{c.ID, c.Name})
	}
	f := Form{Action: "/compare", Submit: "Compare them", Fields: []Field{
		{Name: "a", Label: "Side A", Kind: "select", Choices: choices}, {Name: "b", Label: "Side B", Kind: "select", Choices: choices}}}
	if n := len(choices); n > 1 {
		f.Fields[1].Value = choices[n-1].Value
	}
	return f
}

// putBack undoes a change.
func (s *Server) putBack(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	id, err := strconv.ParseInt(form.Get("change"), 10, 64)
	if err != nil {
		return badRequest("Change %q: expected its number.", form.Get("change"))
	}
	if err := s.shop.PutBack(r.Context(), id); err != nil {
		return err
	}
	http.Redirect(w, r, "/sets/"+r.PathValue("set")+"?done=back", http.StatusSeeOther)
	return nil
}

// InText is the intermediate frequency for a reader, empty where unknown.
func (p setPage) InText() string {
	if p.View.Set.IFHz == 0 {
		return ""
	}
	return quantity.FormatNumber(p.View.Set.IFHz, "Hz")
}

// Bands are the bands as they are typed.
func (p setPage) Bands() []string {
	var out []string
	for _, b := range p.View.Set.Bands {
		out = append(out, b.Name+": "+quantity.FormatNumber(b.LowHz, "Hz")+" to "+quantity.FormatNumber(b.HighHz, "Hz"))
	}
	return out
}

// In lists the titles of the modifications that a configuration has.
func (p setPage) In(c receiver.Configuration) []string {
	var out []string
	for _, m := range p.View.Modifications {
		for _, id := range c.Modifications {
			if id == m.Modification.ID {
				out = append(out, m.Modification.Title)
			}
		}
	}
	return out
}
