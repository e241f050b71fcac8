package report

import (
	"fmt"
	"html/template"
	"io"
	"sort"
	"strings"
	"time"

	"setwright/internal/chart"
	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// recordPage is the record of a set as the template sees it.
type recordPage struct {
	workshop.Record
	CSS       template.CSS
	Heads     template.CSS // running heads of the printed pages
	Version   string
	Timeline  template.HTML
	States    []stateView
	Claims    []modificationView
	Cautions  []string
	Methods   []string
	Operators []string
	Runs      int
	Present   string // name of the present state
}

// stateView is a state with its runs and what is in it.
type stateView struct {
	workshop.RecordState
	In   []string // titles of the modifications that are in
	Runs []runView
	// Without are runs that gave no figures, with the reason.
	Without []Line
}

// runView is one run as it is shown.
type runView struct {
	workshop.Result
	ID         string // of the element
	Title      string
	Figures    []run.Figure
	Deviations []run.Figure // one a tau: a table of their own
	Conditions []workshop.RunCondition
	Shared     []string // conditions that all figures have in common
	Instrument []string
}

// modificationView is a modification with its claims.
type modificationView struct {
	workshop.ClaimReport
	ID       string
	Claims   []Claim
	Verdicts []Verdict
	Overlay  []measure.Plot
}

// Record writes the printed record of a set: one HTML file that holds
// everything it shows.
func Record(w io.Writer, rec workshop.Record) error {
	page := recordPage{Record: rec, Version: Version()}
	var err error
	if page.CSS, err = style("paper.css", "serif-regular.otf", "serif-semibold.otf", "sans-regular.ttf", "sans-bold.ttf"); err != nil {
		return err
	}
	page.Heads = runningHeads(headOf(rec), "Record of "+Day(rec.Made))
	page.Timeline = chart.InlineTimeline(Timeline(rec.View, rec.Made), "states")
	titles := modificationTitles(rec.View)
	for i, st := range rec.States {
		page.States = append(page.States, stateViewOf(st, titles, i))
		page.Runs += len(st.Runs)
	}
	if n := len(rec.States); n > 0 {
		page.Present = rec.States[n-1].State.Name
	}
	for i, rep := range rec.Claims {
		page.Claims = append(page.Claims, modificationViewOf(rep, i))
	}
	page.Cautions, page.Methods, page.Operators = gathered(rec)
	return write(w, "record.html", page)
}

func modificationTitles(v workshop.SetView) map[string]string {
	out := map[string]string{}
	for _, m := range v.Modifications {
		out[m.Modification.ID] = m.Modification.Title
	}
	return out
}

func stateViewOf(st workshop.RecordState, titles map[string]string, n int) stateView {
	out := stateView{RecordState: st}
	for _, id := range st.Configuration.Modifications {
		out.In = append(out.In, titles[id])
	}
	for _, sum := range st.Runs {
		if why := st.Refused[sum.Run.ID]; why != "" {
			out.Without = append(out.Without, Line{sum.Title, why})
		}
	}
	for i, r := range st.Results {
		v := runViewOf(r, fmt.Sprintf("run-%d-%d", n+1, i+1))
		for _, sum := range st.Runs {
			if sum.Run.ID == r.Run.ID {
				v.Title = sum.Title
			}
		}
		out.Runs = append(out.Runs, v)
	}
	return out
}

func runViewOf(r workshop.Result, id string) runView {
	out := runView{Result: r, ID: id, Conditions: r.Conditions(), Shared: workshop.SharedConditions(r.Analysis.Figures)}
	by := map[string][]string{}
	for _, s := range r.About.Figures {
		by[s.ID] = s.By
	}
	for _, f := range r.Analysis.Figures {
		if len(by[f.ID]) > 0 && by[f.ID][len(by[f.ID])-1] == "tau_s" {
			out.Deviations = append(out.Deviations, f)
			continue
		}
		out.Figures = append(out.Figures, f)
	}
	for _, in := range r.Raw.Setup.Instruments {
		out.Instrument = append(out.Instrument, strings.TrimSuffix(in.Name+", calibration of "+in.Epoch, ", calibration of "))
	}
	return out
}

// Name names a figure of the run.
func (v runView) Name(f run.Figure) string {
	for _, s := range v.About.Figures {
		if s.ID == f.ID {
			return workshop.FigureTitle(s, f.Conditions)
		}
	}
	return f.ID
}

func modificationViewOf(rep workshop.ClaimReport, n int) modificationView {
	out := modificationView{ClaimReport: rep, ID: fmt.Sprintf("modification-%d", n+1), Claims: Claims(rep)}
	if c := rep.Comparison; c != nil {
		out.Overlay = c.Plots
		if !c.Fairness.Blocked {
			out.Verdicts = Verdicts(*c)
		}
	}
	return out
}

// gathered lists, each once, the cautions and methods of the measurements made
// and who made the runs.
func gathered(rec workshop.Record) (cautions, methods, operators []string) {
	add := func(list *[]string, s string) {
		for _, x := range *list {
			if x == s {
				return
			}
		}
		if s != "" {
			*list = append(*list, s)
		}
	}
	add(&cautions, rec.View.Set.Cautions)
	for _, st := range rec.States {
		for _, r := range st.Results {
			for _, c := range r.About.Cautions {
				add(&cautions, c.Text)
			}
			add(&methods, r.About.Method)
			add(&operators, r.Run.Setup.Operator)
		}
	}
	sort.Strings(methods)
	sort.Strings(operators)
	return cautions, methods, operators
}

// Period says from when to when a state lasted.
func (s stateView) Period() string {
	from := "from an unknown day"
	if !s.State.From.IsZero() {
		from = "from " + Day(s.State.From)
	}
	if s.Until.IsZero() {
		return from + ", the present state"
	}
	return from + " to " + Day(s.Until)
}

// Digest says how the raw data of a run can be told: the file and its SHA-256.
func (v runView) Digest() string {
	o := v.Run.Origin
	switch {
	case o.SHA256 != "":
		return fmt.Sprintf("%s, %s, SHA-256 %s", o.Name, Count(int(o.Size), "byte", "bytes"), o.SHA256)
	case o.Name != "":
		return o.How + ", " + o.Name
	}
	return o.How
}

// Since says when the present state began.
func (p recordPage) Since() time.Time {
	if n := len(p.Record.States); n > 0 {
		return p.Record.States[n-1].State.From
	}
	return time.Time{}
}

// headOf is what the running head of every page says of the set.
func headOf(rec workshop.Record) string {
	set := rec.View.Set
	head := set.Name
	if set.Serial != "" {
		head += ", " + set.Serial
	}
	if set.Invented {
		head += " (invented)"
	}
	return head
}
