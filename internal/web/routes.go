package web

import "net/http"

// routes is the table of addresses.
func (s *Server) routes() {
	handle := func(pattern string, h func(http.ResponseWriter, *http.Request) error) {
		s.mux.HandleFunc(pattern, s.do(h))
	}
	handle("GET /assets/{name}", s.assets.serve)
	handle("/", func(_ http.ResponseWriter, r *http.Request) error {
		return notThere("Nothing is kept at %s.", r.URL.Path)
	})

	handle("GET /jobs/{id}", s.showJob)
	handle("POST /jobs/{id}/stop", s.stopJob)

	handle("GET /{$}", s.shelf)
}
