package web

import (
	"net/http"

	"setwright/internal/workshop"
)

// shelfPage is the shelf of sets.
type shelfPage struct {
	Page
	Sets []workshop.ShelfItem
	Form Form
}

// shelf shows the sets of the book.
func (s *Server) shelf(w http.ResponseWriter, r *http.Request) error {
	items, err := s.shop.Shelf(r.Context())
	if err != nil {
		return err
	}
	return s.show(w, r, "shelf", shelfPage{Page: Page{Title: "Shelf", Nav: "shelf"}, Sets: items})
}
