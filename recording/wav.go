package recording

import (
	"encoding/binary"
	"fmt"
	"math"
)

// openWAV reads everything up to the first sample and, in a file that can be
// sought in, what follows the samples.
func (r *Reader) openWAV() error {
	f := &riff{Reader: r, start: r.in.pos}
	if err := f.opening(); err != nil {
		return err
	}
	w := &wav{riff: f}
	if err := f.walkToData(w); err != nil {
		return err
	}
	if err := w.sizes(); err != nil {
		return err
	}
	r.dec = w
	return nil
}

// opening reads the first twelve bytes and, in RF64 and BW64, the ds64 chunk.
func (f *riff) opening() error {
	var b [12]byte
	n, err := f.in.read(b[:])
	if err != nil {
		return err
	}
	id := string(b[:4])
	f.order = binary.LittleEndian
	f.info.Format = id
	switch id {
	case "RIFF":
		f.info.Format = "WAV"
	case "RIFX":
		f.order = binary.BigEndian
	default:
		f.wide = true
	}
	if n < 12 || string(b[8:]) != "WAVE" {
		return f.problem(f.start+8, quoted(b[8:max(n, 8)]), `"WAVE"`, "This is no WAV file, or its beginning is damaged. "+copyAnew)
	}
	size := f.order.Uint32(b[4:])
	f.size = int64(size)
	if size == unknownSize || size == 0 {
		f.size = -1
	}
	if !f.wide {
		return nil
	}
	return f.readDS64(size)
}

// readDS64 reads the ds64 chunk, which must come first (BS.2088 and Tech 3306).
func (f *riff) readDS64(size uint32) error {
	h, ok, err := f.next()
	if err != nil {
		return err
	}
	if !ok || h.id != "ds64" || h.size < ds64Size || h.size == unknownSize {
		return f.problem(h.at, quoted([]byte(h.id)), fmt.Sprintf("a ds64 chunk of %d bytes or more, which a file of this kind begins with", ds64Size), damagedHead)
	}
	f.note(h)
	b, err := f.payload(h, ds64Size+12*maxChunks)
	if err != nil {
		return err
	}
	d := &ds64{riff: f.order.Uint64(b), data: f.order.Uint64(b[8:]), frames: f.order.Uint64(b[16:]), table: map[string]uint64{}}
	entries := b[ds64Size:]
	for range f.order.Uint32(b[24:]) {
		if len(entries) < 12 {
			break
		}
		d.table[string(entries[:4])] = f.order.Uint64(entries[4:])
		entries = entries[12:]
	}
	f.ds64 = d
	// A size other than all ones is used as it stands.
	if size == unknownSize && d.riff > 0 && d.riff <= math.MaxInt64 {
		f.size = int64(d.riff)
	}
	return nil
}

// walkToData reads the chunks in front of the samples and stops at the first
// of these.
func (f *riff) walkToData(w *wav) error {
	for range maxChunks {
		h, ok, err := f.next()
		if err != nil {
			return err
		}
		if !ok {
			return f.noData(h, w)
		}
		if h.id == "data" {
			f.data = f.note(h)
			if w.align == 0 {
				return f.problem(h.at, "samples before their format", `a "fmt " chunk in front of them`, damagedHead)
			}
			return nil
		}
		if !plausibleID([]byte(h.id)) {
			return f.problem(h.at, quoted([]byte(h.id)), "the name of a chunk", "The header is damaged in front of the samples. "+copyAnew)
		}
		f.note(h)
		if err := f.chunk(h, w); err != nil {
			return err
		}
	}
	return f.problem(f.in.pos, fmt.Sprintf("%d chunks and no samples", maxChunks), "samples", damagedHead)
}

// chunk reads a chunk that is not the samples.
func (f *riff) chunk(h chunkHead, w *wav) error {
	switch h.id {
	case "fmt ":
		b, err := f.payload(h, 64)
		if err != nil || w.align > 0 {
			return err
		}
		return w.format(b, h.at+8)
	case "bext":
		b, err := f.payload(h, bextFixed)
		if err == nil {
			f.bext(b)
		}
		return err
	}
	size := f.length(h)
	if size < 0 {
		return f.problem(h.at+4, fmt.Sprintf("a %s chunk of unknown size", quoted([]byte(h.id))), "its size", damagedHead)
	}
	return f.skipChunk(h, size)
}

func (f *riff) noData(h chunkHead, w *wav) error {
	what := "no samples"
	if w.align == 0 {
		what = "neither a format nor samples"
	}
	return f.problem(h.at, "the end of the file and "+what, "a data chunk", "The recording was cut off before its first sample, or was never written. "+copyAnew)
}
