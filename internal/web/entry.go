package web

import (
	"net/http"
	"net/url"
)

// formPage is a page that is one form.
type formPage struct {
	Page
	Intro string
	Form  Form
	save  func(form url.Values) (next string, err error)
}

// entry makes the page of one form for a request.
type entry func(r *http.Request) (formPage, error)

// ask shows an empty form.
func (s *Server) ask(make entry) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		p, err := make(r)
		if err != nil {
			return err
		}
		p.Form.Fields = fill(p.Form.Fields, r.URL.Query())
		return s.show(w, r, "form", p)
	}
}

// take stores a form that was sent, or shows it again with what was wrong.
func (s *Server) take(make entry) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		sent, err := read(r)
		if err != nil {
			return err
		}
		p, err := make(r)
		if err != nil {
			return err
		}
		next, err := p.save(sent)
		if err == nil {
			http.Redirect(w, r, next, http.StatusSeeOther)
			return nil
		}
		a := answerOf(err)
		if a.status >= 500 || a.status == http.StatusNotFound {
			return err
		}
		p.Status, p.Form.Problem, p.Form.Fields = a.status, a.text, fill(p.Form.Fields, sent)
		return s.show(w, r, "form", p)
	}
}
