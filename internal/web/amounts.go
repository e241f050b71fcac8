package web

import (
	"net/http"
	"net/url"

	"setwright/internal/workshop"
)

// amountsPage is the amounts that matter in this book.
type amountsPage struct {
	Page
	Rows    []amountRow
	Problem string
}

// amountRow is one figure with its amount, in a form of its own.
type amountRow struct {
	workshop.Amount
	Text  string // the amount as it is typed
	Why   string
	Wrong string // what was wrong with what was sent
}

// amounts shows the table.
func (s *Server) amounts(w http.ResponseWriter, r *http.Request) error {
	p, err := s.amountsPage(r)
	if err != nil {
		return err
	}
	p.Notice = notices[r.URL.Query().Get("done")]
	return s.show(w, r, "amounts", p)
}

func (s *Server) amountsPage(r *http.Request) (amountsPage, error) {
	p := amountsPage{Page: Page{Title: "Amounts that matter", Nav: "amounts"}}
	list, err := s.shop.Amounts(r.Context())
	for _, a := range list {
		p.Rows = append(p.Rows, amountRow{Amount: a, Text: a.Text(), Why: a.Why})
	}
	return p, err
}

// setAmount keeps one amount, or goes back to its default.
func (s *Server) setAmount(w http.ResponseWriter, r *http.Request) error {
	form, err := read(r)
	if err != nil {
		return err
	}
	figure, typed, why := text(form, "figure"), text(form, "amount"), text(form, "why")
	if form.Get("what") == "default" {
		typed = ""
	} else if typed == "" {
		return s.amountWrong(w, r, figure, form, "Say an amount, or go back to the default.", http.StatusUnprocessableEntity)
	}
	if err := s.shop.SetAmount(r.Context(), figure, typed, why); err != nil {
		a := answerOf(err)
		if a.status >= 500 {
			return err
		}
		return s.amountWrong(w, r, figure, form, a.text, a.status)
	}
	http.Redirect(w, r, "/amounts?done=changed#"+url.PathEscape(figure), http.StatusSeeOther)
	return nil
}

// amountWrong shows the table again with what was typed and what was wrong.
func (s *Server) amountWrong(w http.ResponseWriter, r *http.Request, figure string, form url.Values, wrong string, status int) error {
	p, err := s.amountsPage(r)
	if err != nil {
		return err
	}
	p.Status, p.Problem = status, wrong
	for i := range p.Rows {
		if row := &p.Rows[i]; row.Figure.ID == figure {
			row.Text, row.Why, row.Wrong = form.Get("amount"), form.Get("why"), wrong
		}
	}
	return s.show(w, r, "amounts", p)
}
