package web

import (
	"io"
	"net/http"
)

// stream copies a file to whoever asked.
func (s *Server) stream(w http.ResponseWriter, r io.Reader) error {
	_, err := io.Copy(w, r)
	return s.broken(err)
}

// broken ends an answer that failed after it had begun: half of it is out, so
// the connection is cut, which the browser shows as a failed download.
func (s *Server) broken(err error) error {
	if err != nil {
		s.opt.Log.Printf("web: an answer broke off: %v", err)
		panic(http.ErrAbortHandler)
	}
	return nil
}
