package recording

import (
	"encoding/binary"
	"fmt"
	"strings"
)

// riff is the frame of chunks of a WAV file.
type riff struct {
	*Reader
	order binary.ByteOrder
	wide  bool  // RF64 or BW64
	start int64 // of "RIFF" in the file, after a tag in front
	size  int64 // as stated, the first 8 bytes not counted; −1: not known
	ds64  *ds64
	data  Chunk
}

// ds64 holds the sizes that 32 bits are not enough for.
type ds64 struct {
	riff, data, frames uint64
	table              map[string]uint64
}

// chunkHead is the head of a chunk: its name and the size as it stands.
type chunkHead struct {
	id   string
	size uint32
	at   int64 // of the head
}

// maxChunks is how many chunks may stand in front of the samples, and how many
// are listed.
const maxChunks = 10_000

// plausibleID says whether four bytes may be the name of a chunk.
func plausibleID(id []byte) bool {
	for _, b := range id {
		if b < 0x20 || b > 0x7E {
			return false
		}
	}
	return len(id) == 4
}

// knownID says whether it is the name of a common chunk.
func knownID(id string) bool {
	return strings.Contains("fmt data fact bext LIST JUNK junk PAD  FLLR smpl cue  inst PEAK iXML ds64 id3  ID3  axml chna cart", id)
}

// next reads the head of the next chunk; ok is false at the end.
func (f *riff) next() (h chunkHead, ok bool, err error) {
	h.at = f.in.pos
	var b [8]byte
	n, err := f.in.read(b[:])
	if err != nil || n < 8 {
		return h, false, err
	}
	h.id, h.size = string(b[:4]), f.order.Uint32(b[4:])
	return h, true, nil
}

// length is the size of a chunk, with the help of ds64; −1: not known.
func (f *riff) length(h chunkHead) int64 {
	if h.size != unknownSize {
		return int64(h.size)
	}
	if f.ds64 != nil {
		size, ok := f.ds64.table[h.id]
		if h.id == "data" {
			size, ok = f.ds64.data, true
		}
		if ok && size <= 1<<62 {
			return int64(size)
		}
	}
	return -1
}

// skipChunk passes what is left of a chunk and its pad byte.
func (f *riff) skipChunk(h chunkHead, left int64) error {
	if n, err := f.in.skip(left); err != nil || n < left {
		return err
	}
	if f.length(h)%2 == 0 {
		return nil
	}
	return f.skipPad(h)
}

// skipPad passes the pad byte after a chunk of odd length, which some writers
// leave out: then the next chunk begins at once.
func (f *riff) skipPad(h chunkHead) error {
	b, err := f.in.peek(5)
	if err != nil || len(b) == 0 {
		return err
	}
	if len(b) >= 4 && plausibleID(b[:4]) && (knownID(string(b[:4])) || len(b) == 5 && !plausibleID(b[1:5])) {
		f.warn(Warning{Fault: OddSize, Text: fmt.Sprintf(
			"The pad byte after the %s chunk of odd length at byte %d is missing; the next chunk was read where it stands.", quoted([]byte(h.id)), h.at)})
		return nil
	}
	_, err = f.in.skip(1)
	return err
}

// note lists a chunk.
func (f *riff) note(h chunkHead) Chunk {
	c := Chunk{ID: h.id, At: h.at + 8, Size: f.length(h)}
	if len(f.info.Chunks) < maxChunks {
		f.info.Chunks = append(f.info.Chunks, c)
	}
	return c
}

// payload reads a chunk of at most limit bytes, the rest of it is passed.
func (f *riff) payload(h chunkHead, limit int64) ([]byte, error) {
	size := f.length(h)
	if size < 0 {
		return nil, f.problem(h.at+4, fmt.Sprintf("a %s chunk of unknown size", quoted([]byte(h.id))), "its size", damagedHead)
	}
	b := make([]byte, min(size, limit))
	n, err := f.in.read(b)
	if err != nil {
		return nil, err
	}
	if n < len(b) {
		return nil, f.problem(h.at, fmt.Sprintf("the end of the file after %d bytes of the %s chunk", n, quoted([]byte(h.id))),
			fmt.Sprintf("%d bytes", size), "The header is cut off: there are no samples to read. "+copyAnew)
	}
	return b, f.skipChunk(h, size-int64(n))
}

const (
	copyAnew    = "Copy the file anew from where it was made."
	damagedHead = "The header is damaged. " + copyAnew
)

// quoted shows bytes as text where they are, else in hexadecimal.
func quoted(b []byte) string {
	if plausibleID(b) || len(b) > 0 && len(b) < 4 && plausibleID(append([]byte("    ")[:4-len(b)], b...)) {
		return fmt.Sprintf("%q", b)
	}
	return fmt.Sprintf("the bytes % X", b)
}
