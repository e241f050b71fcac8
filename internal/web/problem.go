package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/workshop"
)

// answer is an error with the status and the words of its page.
type answer struct {
	status int
	title  string
	text   string
	next   string // what to do
	err    error
}

func (a *answer) Error() string { return a.text }
func (a *answer) Unwrap() error { return a.err }

// notThere is the answer for an address that leads nowhere.
func notThere(format string, args ...any) error {
	return &answer{status: http.StatusNotFound, title: "Not in this book", text: fmt.Sprintf(format, args...),
		next: "The shelf shows what there is."}
}

// badRequest is the answer for a form that lacks what it must have.
func badRequest(format string, args ...any) error {
	return &answer{status: http.StatusBadRequest, title: "That could not be read", text: fmt.Sprintf(format, args...)}
}

// kinds are the statuses and titles of what the workshop refuses.
var kinds = []struct {
	kind   error
	status int
	title  string
}{
	{workshop.ErrNotFound, http.StatusNotFound, "Not in this book"},
	{workshop.ErrExists, http.StatusConflict, "There is one already"},
	{workshop.ErrInUse, http.StatusConflict, "Still in use"},
	{workshop.ErrClosed, http.StatusConflict, "This run is finished"},
	{workshop.ErrReadOnly, http.StatusConflict, "The book cannot be written"},
	{workshop.ErrBusy, http.StatusServiceUnavailable, "The book is busy"},
	{workshop.ErrDiskFull, http.StatusInsufficientStorage, "The disk is full"},
	{workshop.ErrDamaged, http.StatusInternalServerError, "The book is damaged"},
	{context.Canceled, http.StatusConflict, "Stopped"},
}

// answerOf gives an error its status and words.
func answerOf(err error) *answer {
	var a *answer
	var tooLarge *http.MaxBytesError
	var problem *intake.Problem
	var problems *intake.Problems
	var refusal *measure.Refusal
	switch {
	case errors.As(err, &a):
		return a
	case errors.As(err, &tooLarge):
		return &answer{status: http.StatusRequestEntityTooLarge, title: "Too much at once",
			text: fmt.Sprintf("What was sent is longer than %d bytes, which is the most taken here.", tooLarge.Limit), err: err}
	}
	for _, k := range kinds {
		if errors.Is(err, k.kind) {
			return &answer{status: k.status, title: k.title, text: sentence(err.Error()), err: err}
		}
	}
	out := &answer{status: http.StatusUnprocessableEntity, title: "That does not go", text: sentence(err.Error()), err: err}
	if errors.As(err, &problem) || errors.As(err, &problems) || errors.As(err, &refusal) {
		out.title = "The data do not allow it"
	}
	return out
}

// problemPage shows an error: what was found, what was expected, what to do.
type problemPage struct {
	Page
	Text, Next string
	Problems   []intake.Problem
	More       int
}

// problem answers with an error's page.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	a := answerOf(err)
	p := problemPage{Page: Page{Title: a.title, Status: a.status}, Text: a.text, Next: a.next}
	var many *intake.Problems
	if errors.As(err, &many) {
		p.Text, p.Problems, p.More = "", many.List, many.Total-len(many.List)
	}
	if a.status >= 500 && a.err != nil {
		s.opt.Log.Printf("web: %s %s: %v", r.Method, r.URL.Path, a.err)
	}
	if err := s.show(w, r, "problem", p); err != nil {
		http.Error(w, a.text, a.status)
	}
}

// do makes an http handler of one of ours.
func (s *Server) do(h func(http.ResponseWriter, *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.problem(w, r, err)
		}
	}
}
