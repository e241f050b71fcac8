package web

import (
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"os"
	"sync"
	"time"
)

// stageFor is how long a dropped file waits to be stored.
const stageFor = time.Hour

// stage is where dropped files wait until they are stored: on disk, so that
// their size is no matter.
type stage struct {
	mu    sync.Mutex
	under string // folder to make ours in
	dir   string // ours; empty until the first file
	files map[string]staged
}

// staged is one file that waits.
type staged struct {
	Token string
	Name  string // as given
	Path  string
	Size  int64
	since time.Time

	storing bool // somebody has asked for it to be stored
}

func newStage(under string) *stage { return &stage{under: under, files: map[string]staged{}} }

// put writes a file as it comes in.
func (s *stage) put(name string, r io.Reader) (staged, error) {
	dir, err := s.folder()
	if err != nil {
		return staged{}, err
	}
	s.sweep()
	f, err := os.CreateTemp(dir, "in-*")
	if err != nil {
		return staged{}, fmt.Errorf("no place to put the file: %w", err)
	}
	size, err := io.Copy(f, r)
	if closing := f.Close(); err == nil {
		err = closing
	}
	if err != nil {
		_ = os.Remove(f.Name())
		return staged{}, fmt.Errorf("taking in %s: %w", name, err)
	}
	st := staged{Token: rand.Text(), Name: name, Path: f.Name(), Size: size, since: time.Now()}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.files[st.Token] = st
	return st, nil
}

// get returns a file that waits.
func (s *stage) get(token string) (staged, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	st, ok := s.files[token]
	if !ok {
		return st, &answer{status: http.StatusNotFound, title: "The file is not here any more",
			text: "A dropped file waits for an hour, or until the program ends, and is then let go. Nothing was stored of it.",
			next: "Drop the file again."}
	}
	return st, nil
}

// take is get for storing: until it is dropped or given back nobody else can
// take the file, so that a button pressed twice stores it once.
func (s *stage) take(token string) (staged, error) {
	st, err := s.get(token)
	if err != nil {
		return st, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if st, ok := s.files[token]; !ok || st.storing {
		return st, &answer{status: http.StatusConflict, title: "Already being stored",
			text: "This file is being stored, asked for from here or from another page.", next: "Its run will be on the shelf in a moment."}
	}
	st.storing = true
	s.files[token] = st
	return st, nil
}

// giveBack lets a file be taken again.
func (s *stage) giveBack(token string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if st, ok := s.files[token]; ok {
		st.storing = false
		s.files[token] = st
	}
}

// drop lets a file go.
func (s *stage) drop(token string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if st, ok := s.files[token]; ok {
		_ = os.Remove(st.Path)
		delete(s.files, token)
	}
}

// sweep lets files go that nobody came back for.
func (s *stage) sweep() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for token, st := range s.files {
		if time.Since(st.since) > stageFor {
			_ = os.Remove(st.Path)
			delete(s.files, token)
		}
	}
}

// folder makes our folder at the first need.
func (s *stage) folder() (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.dir != "" {
		return s.dir, nil
	}
	dir, err := os.MkdirTemp(s.under, "setwright-in-")
	if err != nil {
		return "", fmt.Errorf("no place to put files: %w", err)
	}
	s.dir = dir
	return dir, nil
}

// close lets all files go.
func (s *stage) close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.dir != "" {
		_ = os.RemoveAll(s.dir)
		s.dir, s.files = "", map[string]staged{}
	}
}
