package web

import (
	"bytes"
	"fmt"
	"net/http"

	"setwright/internal/report"
)

// paperPolicy lets a page that holds everything use what is inside it, and
// nothing else.
const paperPolicy = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// record gives the printed record of a set: one file that holds everything.
func (s *Server) record(w http.ResponseWriter, r *http.Request) error {
	set := r.PathValue("set")
	rec, err := s.shop.Record(r.Context(), set, nil)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := report.Record(&b, rec); err != nil {
		return err
	}
	return sendPaper(w, r, b.Bytes(), "record-"+set+".html")
}

// card gives a bench card to print.
func (s *Server) card(w http.ResponseWriter, r *http.Request) error {
	c, err := s.shop.BenchCard(r.Context(), r.PathValue("measurement"), r.FormValue("state"))
	if err != nil {
		return notFoundIfUnknown(err, "")
	}
	var b bytes.Buffer
	if err := report.Card(&b, c); err != nil {
		return err
	}
	return sendPaper(w, r, b.Bytes(), "card-"+c.About.ID+".html")
}

// sendPaper answers with a file that holds everything, to be shown or, if asked
// for, to be kept.
func sendPaper(w http.ResponseWriter, r *http.Request, data []byte, name string) error {
	h := w.Header()
	h.Set("Content-Security-Policy", paperPolicy)
	h.Set("Content-Type", "text/html; charset=utf-8")
	if r.URL.Query().Get("download") != "" {
		h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	}
	_, _ = w.Write(data) // whoever asked has gone: nobody to tell
	return nil
}
