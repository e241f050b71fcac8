package web

import (
	"errors"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
)

// stagedPart is a file that came with a form, and the field it came in.
type stagedPart struct {
	field string
	staged
}

// stagedParts reads a form with files, which are streamed onto the stage. When
// it breaks off nothing is kept of it.
func (s *Server) stagedParts(w http.ResponseWriter, r *http.Request) (form url.Values, files []stagedPart, err error) {
	defer func() {
		if err != nil {
			s.dropParts(files)
		}
	}()
	r.Body = http.MaxBytesReader(w, r.Body, s.opt.MaxUpload)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, nil, badRequest("The form came without a file: %v.", err)
	}
	form = url.Values{}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return form, files, nil
		}
		if err != nil {
			return nil, files, incoming(err)
		}
		if part.FileName() != "" {
			st, err := s.stage.put(filepath.Base(part.FileName()), part)
			if err != nil {
				return nil, files, incoming(err)
			}
			files = append(files, stagedPart{part.FormName(), st})
			continue
		}
		value, err := io.ReadAll(io.LimitReader(part, 4096))
		if err != nil {
			return nil, files, incoming(err)
		}
		form.Add(part.FormName(), string(value))
	}
}

// dropParts lets files go.
func (s *Server) dropParts(files []stagedPart) {
	for _, x := range files {
		s.stage.drop(x.Token)
	}
}
