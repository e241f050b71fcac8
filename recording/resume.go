package recording

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// FramesIn is how many whole frames a file of so many bytes holds that a
// [Writer] of that format wrote, closed or not.
func FramesIn(size int64, f Format) (int64, error) {
	if err := f.check(); err != nil {
		return 0, err
	}
	return max(0, size-int64(len(makeHeader(f).bytes))) / int64(f.frameBytes()), nil
}

// WholeFrames is the size of such a file cut to whole frames.
func WholeFrames(size int64, f Format) (int64, error) {
	n, err := FramesIn(size, f)
	return int64(len(makeHeader(f).bytes)) + n*int64(f.frameBytes()), err
}

// Resume takes up the writing of a file that a [Writer] of that format wrote
// and did not close, or closed too early. Its size must have been cut to
// [WholeFrames]. The writer goes on at its end.
func Resume(w io.ReadWriteSeeker, f Format) (*Writer, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	out := &Writer{w: w, f: f, header: makeHeader(f)}
	found := make([]byte, len(out.header.bytes))
	if _, err := w.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("recording: not taken up: %w", err)
	}
	if _, err := io.ReadFull(w, found); err != nil {
		return nil, fmt.Errorf("recording: not taken up, its header cannot be read: %w", err)
	}
	if !out.header.fits(found) {
		return nil, errors.New("recording: not taken up: the header is not of the format that was expected")
	}
	size, err := w.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, fmt.Errorf("recording: not taken up: %w", err)
	}
	out.bytes = size - int64(len(found))
	if out.bytes%int64(f.frameBytes()) != 0 {
		return nil, fmt.Errorf("recording: not taken up: %d bytes of samples are no whole frames of %d", out.bytes, f.frameBytes())
	}
	return out, nil
}

// Truncater is a file that can be cut.
type Truncater interface {
	io.ReadWriteSeeker
	Truncate(size int64) error
}

// TakeUp cuts such a file to whole frames, after a crash or a write that
// failed half way, and resumes it.
func TakeUp(file Truncater, f Format) (*Writer, error) {
	size, err := file.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, fmt.Errorf("recording: not taken up: %w", err)
	}
	whole, err := WholeFrames(size, f)
	if err != nil {
		return nil, err
	}
	if err := file.Truncate(whole); err != nil {
		return nil, fmt.Errorf("recording: not taken up: %w", err)
	}
	return Resume(file, f)
}

// fits says whether a header is this one but for its sizes and its bext chunk.
func (h *header) fits(found []byte) bool {
	format := h.junk + 8 + ds64Size // where the fmt chunk begins
	fact := bytes.Index(h.bytes[format:], []byte("fact"))
	if fact < 0 {
		fact = bytes.Index(h.bytes[format:], []byte("data"))
	}
	end := len(h.bytes) - 8
	return bytes.Equal(found[8:12], h.bytes[8:12]) &&
		bytes.Equal(found[format:format+fact], h.bytes[format:format+fact]) &&
		bytes.Equal(found[end:end+4], h.bytes[end:end+4])
}
