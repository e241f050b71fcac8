package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/recording"
	"setwright/signal"
)

// counter counts the frames that pass.
type counter struct {
	signal.Source
	frames int64
}

func (c *counter) Read(dst []float64) (int, error) {
	n, err := c.Source.Read(dst)
	c.frames += int64(n)
	return n, err
}

// openSound opens a recording at its start.
func openSound(src intake.Source) (soundReader, error) {
	f, err := src.Open()
	if err != nil {
		return soundReader{}, err
	}
	var r *recording.Reader
	if at, ok := f.(io.ReaderAt); ok && src.Size >= 0 {
		r, err = recording.Open(filepath.Base(src.Name), at, src.Size)
	} else {
		r, err = recording.Stream(filepath.Base(src.Name), f)
	}
	if err != nil {
		f.Close()
		return soundReader{}, soundProblem(err)
	}
	return soundReader{r, f}, nil
}

// soundProblem says what is wrong with a recording as is said of a log.
func soundProblem(err error) error {
	var p *recording.Problem
	if !errors.As(err, &p) {
		return err
	}
	out := &intake.Problem{File: p.File, Found: p.Found, Expected: p.Expected, Advice: p.Do}
	if p.At >= 0 {
		out.Place = fmt.Sprintf("byte %d", p.At)
	}
	return out
}

// monoSound is one channel of an open recording.
type monoSound struct {
	signal.Source
	closer io.Closer
	skip   func(frames int64) error
}

func (m monoSound) Close() error { return m.closer.Close() }

func (m monoSound) Skip(frames int64) error { return m.skip(frames) }

// seen makes a recording of a run one that an analysis can read.
func seen(rec run.Recording, open func(ctx context.Context) (intake.Source, error)) measure.Recording {
	return measure.Recording{Recording: rec, Open: func(ctx context.Context) (measure.SourceCloser, error) {
		src, err := open(ctx)
		if err != nil {
			return nil, err
		}
		r, err := openSound(src)
		if err != nil {
			return nil, err
		}
		one, err := signal.Mono(r, rec.Channel)
		if err != nil {
			r.Close()
			return nil, err
		}
		return monoSound{one, r, r.Skip}, nil
	}}
}

// stored is the source of a recording in the book.
func (s *Shop) stored(rec run.Recording) func(ctx context.Context) (intake.Source, error) {
	return func(ctx context.Context) (intake.Source, error) {
		path, size, err := s.Book.FilePath(ctx, rec.SHA256)
		if err != nil {
			return intake.Source{}, err
		}
		return intake.Source{Name: rec.Name, Size: size, Open: func() (io.ReadCloser, error) { return os.Open(path) }}, nil
	}
}

// recordingsOf are the recordings of a stored run as an analysis sees them.
func (s *Shop) recordingsOf(recs []run.Recording) []measure.Recording {
	var out []measure.Recording
	for _, rec := range recs {
		out = append(out, seen(rec, s.stored(rec)))
	}
	return out
}

// soundReader is an open recording and the file under it.
type soundReader struct {
	*recording.Reader
	file io.Closer
}

// Close closes both.
func (s soundReader) Close() error { return errors.Join(s.Reader.Close(), s.file.Close()) }
