package web

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"setwright/internal/measure"
	"setwright/internal/workshop"
)

// typePage asks what is going to be typed.
type typePage struct {
	Page
	Form        Form
	Whose       []Field // state and measurement; the measurement decides what else is asked
	Cautions    []measure.Caution
	Cards       []cardLink // of the measurement chosen
	NoStates    bool
	Instruments []instrumentChoice
}

// typeForm asks for the state and the circumstances before readings are typed.
func (s *Server) typeForm(w http.ResponseWriter, r *http.Request) error {
	return s.typeFormWith(w, r, r.URL.Query(), "")
}

func (s *Server) typeFormWith(w http.ResponseWriter, r *http.Request, sent url.Values, problem string) error {
	states, err := s.stateChoices(r.Context())
	if err != nil {
		return err
	}
	kinds := s.measurementChoices()
	if sent.Get("measurement") == "" {
		sent.Set("measurement", s.shop.Registry.Usual())
	}
	m, err := s.shop.Registry.Get(sent.Get("measurement"))
	if err != nil {
		return err
	}
	about := m.About()
	whose := []Field{
		{Name: "state", Label: "State of the set", Kind: "select", Choices: states, Wide: true},
		{Name: "measurement", Label: "Measurement", Kind: "select", Choices: kinds},
	}
	fields := []Field{
		{Name: "unit", Label: "Unit of bare numbers", Kind: "select", Choices: typedUnits(about), Value: "kHz"},
		{Name: "started", Label: "Switched on at", Kind: "moment", Help: "Empty: the moment you press the button. Times are counted from here."},
		{Name: "operator", Label: "Read by"},
	}
	fields = append(fields, conditionFields(about, nil)...)
	p := typePage{Page: Page{Title: "Type readings at the bench", Nav: "type"}, NoStates: len(states) == 0, Whose: fill(whose, sent), Cards: s.cardLinks(sent.Get("state"), about.ID), Cautions: cautionsFor(about, "before"),
		Form: Form{Action: "/type", Submit: "Begin", Fields: fill(fields, sent), Problem: problem}}
	if problem != "" {
		p.Status = http.StatusUnprocessableEntity
	}
	if p.Instruments, err = s.instrumentChoices(r, sent); err != nil {
		return err
	}
	return s.show(w, r, "type", p)
}

// typedUnits are the units that the readings of a measurement are typed in.
func typedUnits(about measure.About) []Choice {
	columns := about.TypedColumns()
	if len(columns) == 0 {
		return nil
	}
	var out []Choice
	for _, base := range columns[0].BaseUnits() {
		out = append(out, unitChoices(base)...)
	}
	return out
}

// Row names the columns of a typed row, "" where there is only one.
func (p typingPage) Row() string {
	if len(p.Columns) < 2 {
		return ""
	}
	return workshop.RowWords(p.Columns)
}

// More says that the row has columns after the first.
func (p typingPage) More() bool { return len(p.Columns) > 1 }

func cautionsFor(about measure.About, where string) []measure.Caution {
	var out []measure.Caution
	for _, c := range about.Cautions {
		if c.Where == where {
			out = append(out, c)
		}
	}
	return out
}

// startTyping opens a run.
func (s *Server) startTyping(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	n, _, err := s.newRunOf(r.Context(), form)
	if err == nil {
		made, serr := s.shop.StartTyping(r.Context(), n, text(form, "unit"))
		if serr == nil {
			http.Redirect(w, r, "/type/"+pathOf(made.ID), http.StatusSeeOther)
			return nil
		}
		err = serr
	}
	if a := answerOf(err); a.status >= 500 {
		return err
	}
	return s.typeFormWith(w, r, form, answerOf(err).text)
}

// typingPage is the page at the bench: one field, one number, the next step.
type typingPage struct {
	Page
	workshop.BenchView
	Wrong            string // why what was typed was not taken
	Again            string // what was typed then, to be put right
	Last             *workshop.Typed
	Whole, Decimals  string     // the last reading, parted where a narrow page may break it
	Tape             []tapeLine // newest first
	Plot             *measure.Plot
	Standing, Struck int
}

// tapeLine is a reading in the list.
type tapeLine struct {
	Number     int
	Time, Text string
	Struck     bool
}

// typing shows the bench.
func (s *Server) typing(w http.ResponseWriter, r *http.Request) error {
	return s.typingWith(w, r, "", "")
}

func (s *Server) typingWith(w http.ResponseWriter, r *http.Request, wrong, typed string) error {
	v, err := s.shop.Bench(r.Context(), r.PathValue("run"))
	if err != nil {
		return err
	}
	if !v.Run.Open && wrong != "" {
		return &answer{status: http.StatusConflict, title: "This run is finished", text: wrong, next: "Its readings are complete; what was forgotten goes into its notes."}
	}
	if !v.Run.Open {
		http.Redirect(w, r, "/runs/"+pathOf(v.Run.ID), http.StatusSeeOther)
		return nil
	}
	p := typingPage{BenchView: v, Wrong: wrong, Again: typed,
		Page: Page{Title: v.Set.Name + ", " + v.About.Title, Nav: "type", Bare: true, Where: []Link{{"Shelf", "/"}, {v.Set.Name, "/sets/" + v.Set.ID}, {v.State.Name, "/sets/" + v.Set.ID}}}}
	if wrong != "" {
		p.Status = http.StatusUnprocessableEntity
	}
	for i := len(v.Typed) - 1; i >= 0; i-- {
		t := v.Typed[i]
		p.Tape = append(p.Tape, tapeLine{t.Row + 1, clock(t.TimeS), readingText(t, v.Unit), t.Struck})
		if t.Struck {
			p.Struck++
			continue
		}
		p.Standing++
		if p.Last == nil {
			p.Last = &v.Typed[i]
			p.Whole, p.Decimals = parted(readingText(t, v.Unit))
		}
	}
	if n := len(v.Analysis.Plots); n > 0 {
		p.Plot = &v.Analysis.Plots[0]
	}
	return s.show(w, r, "typing", p)
}

// readingText is a reading as it was typed, without the time before it; a
// reading in another unit than the page's keeps that unit.
func readingText(t workshop.Typed, unit string) string {
	text := t.Text
	if i := strings.LastIndex(text, ": "); i >= 0 {
		text = strings.TrimSpace(text[i+2:])
	}
	return strings.TrimSpace(strings.TrimSuffix(text, unit))
}

// parted parts a number before its decimal sign.
func parted(text string) (whole, decimals string) {
	if i := strings.IndexAny(text, ".,"); i > 0 {
		return text[:i], text[i:]
	}
	return text, ""
}

// clock writes a time since power-on as a clock does: 1:05:09.
func clock(seconds float64) string {
	d := time.Duration(seconds * float64(time.Second)).Round(time.Second)
	sign := ""
	if d < 0 {
		sign, d = "−", -d
	}
	text := time.Unix(0, 0).UTC().Add(d).Format("4:05")
	if d >= time.Hour {
		h := int(d / time.Hour)
		text = told(float64(h), "1") + time.Unix(0, 0).UTC().Add(d-time.Duration(h)*time.Hour).Format(":04:05")
	}
	return sign + text
}

// typeReading takes a reading. An x alone strikes the last one out.
func (s *Server) typeReading(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	typed := text(form, "reading")
	if strings.EqualFold(typed, "x") {
		return s.strikeLast(w, r)
	}
	if _, err := s.shop.TypeReading(r.Context(), r.PathValue("run"), typed); err != nil {
		if a := answerOf(err); a.status >= 500 || a.status == http.StatusNotFound {
			return err
		}
		return s.typingWith(w, r, "Not taken. "+answerOf(err).text, typed)
	}
	return s.backToBench(w, r)
}

// strikeLast strikes out the last reading that stands.
func (s *Server) strikeLast(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.shop.StrikeLast(r.Context(), r.PathValue("run")); err != nil {
		if a := answerOf(err); a.status >= 500 || a.status == http.StatusNotFound {
			return err
		}
		return s.typingWith(w, r, answerOf(err).text, "")
	}
	return s.backToBench(w, r)
}

func (s *Server) backToBench(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, "/type/"+pathOf(r.PathValue("run")), http.StatusSeeOther)
	return nil
}

// finishTyping closes the run.
func (s *Server) finishTyping(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.shop.FinishTyping(r.Context(), r.PathValue("run")); err != nil {
		return err
	}
	http.Redirect(w, r, "/runs/"+pathOf(r.PathValue("run"))+"?done=finished", http.StatusSeeOther)
	return nil
}
