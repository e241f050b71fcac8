package intake

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"
)

// Source is something to read a log from. It must be possible to open it more
// than once: it is looked at first and read afterwards.
type Source struct {
	// Name stands in messages; its ending is a hint only.
	Name string
	// Open gives a new reader at the start of the content. Where that reader
	// is an io.ReaderAt the end of a long log can be shown too.
	Open func() (io.ReadCloser, error)
	// Size is the length in bytes, -1 if unknown.
	Size int64
	// Stamp identifies the state of the content, so that a source which
	// changes while it is read is noticed. Nil: it cannot change.
	Stamp func() (Stamp, error)
}

// Stamp is what is compared before and after reading.
type Stamp struct {
	Size     int64
	Modified time.Time
}

// FileSource is the file at path. A missing file, a directory and anything that
// is not a regular file give a [Problem] here already.
func FileSource(path string) (Source, error) {
	if path == "" {
		return Source{}, refuse(Problem{File: "name of the file", Found: "nothing", Expected: "a file with readings"})
	}
	info, err := os.Stat(path)
	if err != nil {
		return Source{}, refuse(openProblem(path, err))
	}
	if info.IsDir() {
		return Source{}, refuse(Problem{File: path, Found: "a directory", Expected: "a file with readings",
			Advice: "name the file inside it"})
	}
	if !info.Mode().IsRegular() {
		return Source{}, refuse(Problem{File: path, Found: "something that is not a plain file",
			Expected: "a file with readings", Advice: "save what it gives to a file first"})
	}
	return Source{
		Name: path,
		Size: info.Size(),
		Open: func() (io.ReadCloser, error) {
			f, err := os.Open(path)
			if err != nil {
				return nil, refuse(openProblem(path, err))
			}
			return f, nil
		},
		Stamp: func() (Stamp, error) {
			info, err := os.Stat(path)
			if err != nil {
				return Stamp{}, err
			}
			return Stamp{Size: info.Size(), Modified: info.ModTime()}, nil
		},
	}, nil
}

// openProblem says in plain words why a file could not be opened.
func openProblem(path string, err error) Problem {
	p := Problem{File: path, Found: "the file cannot be opened: " + err.Error()}
	var of *fs.PathError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		p.Found, p.Advice = "there is no such file", "check the name and the folder"
	case errors.Is(err, fs.ErrPermission):
		p.Found, p.Advice = "this file may not be read by you", "change its permissions or copy it"
	case errors.As(err, &of):
		p.Found = "the file cannot be opened: " + of.Err.Error()
	}
	return p
}

// memFile is bytes that can be read from the start and at any place.
type memFile struct{ *bytes.Reader }

func (memFile) Close() error { return nil }

// BytesSource is content already in memory, such as an uploaded file.
func BytesSource(name string, data []byte) Source {
	return Source{
		Name: name,
		Size: int64(len(data)),
		Open: func() (io.ReadCloser, error) { return memFile{bytes.NewReader(data)}, nil },
	}
}

// stamp is the present state of the source; the zero Stamp where it has none.
func (s Source) stamp() (Stamp, error) {
	if s.Stamp == nil {
		return Stamp{}, nil
	}
	return s.Stamp()
}

// Watch notes the present state of the source; the function it returns says
// whether the source has changed since, as a [Problem].
func (s Source) Watch() (unchanged func() error, err error) {
	before, err := s.stamp()
	if err != nil {
		return nil, refuse(openProblem(s.Name, err))
	}
	return func() error { return s.unchanged(before) }, nil
}

// unchanged compares the present state with the one before reading.
func (s Source) unchanged(before Stamp) error {
	after, err := s.stamp()
	if err != nil {
		return refuse(Problem{File: s.Name, Found: "the file went away while it was read",
			Advice: "put it back and import it again"})
	}
	if after.Size != before.Size || !after.Modified.Equal(before.Modified) {
		return refuse(Problem{File: s.Name,
			Found:  fmt.Sprintf("the file changed while it was read (%d bytes before, %d after)", before.Size, after.Size),
			Advice: "wait until the program that writes it has finished, or copy the file and import the copy"})
	}
	return nil
}
