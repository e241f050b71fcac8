package web

import (
	"context"
	"net/http"

	"setwright/internal/workshop"
)

// shelfPage is the shelf of sets.
type shelfPage struct {
	Page
	Sets     []workshop.ShelfItem
	Open     int
	OpenRuns []workshop.RunSummary
	Form     Form // to take in the first set
}

// shelf shows the sets of the book.
func (s *Server) shelf(w http.ResponseWriter, r *http.Request) error {
	p := shelfPage{Page: Page{Title: "Shelf", Nav: "shelf", Notice: notices[r.URL.Query().Get("done")]}}
	var err error
	if p.Sets, err = s.shop.Shelf(r.Context()); err != nil {
		return err
	}
	if len(p.Sets) == 0 {
		first, err := s.newSet(r)
		if err != nil {
			return err
		}
		p.Form = first.Form
		p.Form.Cancel = ""
	}
	for _, item := range p.Sets {
		p.Open += item.Open
	}
	if p.Open > 0 {
		if p.OpenRuns, err = s.openRuns(r.Context(), p.Sets); err != nil {
			return err
		}
	}
	return s.show(w, r, "shelf", p)
}

// openRuns lists the runs that are still being taken.
func (s *Server) openRuns(ctx context.Context, sets []workshop.ShelfItem) ([]workshop.RunSummary, error) {
	var out []workshop.RunSummary
	for _, item := range sets {
		if item.Open == 0 {
			continue
		}
		v, err := s.shop.SetView(ctx, item.Set.ID, false)
		if err != nil {
			return nil, err
		}
		for _, st := range v.States {
			for _, run := range st.Runs {
				if run.Run.Open {
					run.Title = v.Set.Name + ", " + run.Title
					out = append(out, run)
				}
			}
		}
	}
	return out, nil
}
