package recording

import (
	"bytes"
	"io"
	"strings"
	"time"
)

// Limits of what a header may claim.
const (
	maxRate     = 10_000_000 // Hz
	maxChannels = 64
)

// Info is what is known of a recording from its header.
type Info struct {
	Name      string
	Format    string // "WAV", "RF64", "BW64", "RIFX", "FLAC"
	RateHz    float64
	Channels  int
	Bits      int    // valid bits of a sample
	Container int    // bits that each takes in the file
	Float     bool   // floating point
	Law       string // "A-law", "mu-law", or empty
	// Frames is how many are there as far as can be told without reading them
	// all, −1 where that is not known.
	Frames int64
	// FramesStated is how many the header promises, −1 where it does not say.
	FramesStated int64
	Chunks       []Chunk
	// Started is when the recording began by the recorder's clock, zero where
	// it is not written. The file states no time zone: it is taken to be this
	// machine's.
	Started time.Time
}

// Chunk is a named part of a file.
type Chunk struct {
	ID   string
	At   int64 // first byte of what it holds
	Size int64 // bytes that it holds by its header
}

// Reader is a recording being read. It is a [setwright/signal.Source] of all
// its channels.
type Reader struct {
	in       *input
	info     Info
	warnings []Warning
	dec      decoder
	pos      int64 // frames delivered or skipped
	err      error

	reference uint64 // of a bext chunk: samples since midnight
}

// decoder is what differs between WAV and FLAC.
type decoder interface {
	// read fills dst, a whole number of frames long, and returns the number of
	// frames, more than 0 with a nil error.
	read(dst []float64) (int, error)
	// skip passes over n frames at most and returns how many they were.
	skip(n int64) (int64, error)
	close()
}

// Open reads the header of a file of so many bytes, or of a size that is not
// known where it is negative. A file that is still growing is read to the size
// given. The error is a [*Problem] or one of reading.
func Open(name string, r io.ReaderAt, size int64) (*Reader, error) {
	return open(newInput(name, r, nil, size))
}

// Stream is as [Open] for what comes once, such as a pipe.
func Stream(name string, r io.Reader) (*Reader, error) {
	return open(newInput(name, nil, r, -1))
}

func open(in *input) (*Reader, error) {
	r := &Reader{in: in, info: Info{Name: in.name, Frames: -1, FramesStated: -1}}
	if err := r.skipID3(); err != nil {
		return nil, err
	}
	start := in.pos
	head, err := in.peek(12)
	if err != nil {
		return nil, err
	}
	switch kind := kindOf(head); kind {
	case kindWAV:
		err = r.openWAV()
	case kindFLAC:
		err = r.openFLAC()
	default:
		err = r.notOurs(kind, start, head)
	}
	if err != nil {
		return nil, err
	}
	return r, nil
}

// The kinds of files that are told apart by their first bytes.
const (
	kindWAV  = "WAV"
	kindFLAC = "FLAC"
)

// kindOf names the kind of a file by its first bytes, "" if it is no sound.
func kindOf(head []byte) string {
	begins := func(s string) bool { return bytes.HasPrefix(head, []byte(s)) }
	form := ""
	if len(head) >= 12 {
		form = string(head[8:12])
	}
	switch {
	case begins("RIFF") && form == "WAVE", begins("RIFX") && form == "WAVE", begins("RF64"), begins("BW64"):
		return kindWAV
	case begins("fLaC"):
		return kindFLAC
	case begins("OggS"):
		return "an Ogg stream"
	case begins("FORM") && strings.HasPrefix(form, "AIF"):
		return "an AIFF file"
	case begins(".snd"):
		return "an AU file"
	case begins("caff"):
		return "a CAF file"
	case begins("riff") && len(head) >= 12:
		return "a Wave64 file"
	case len(head) >= 2 && head[0] == 0xFF && (head[1] == 0xF8 || head[1] == 0xF9):
		return "a FLAC frame without the beginning of its file"
	case len(head) >= 2 && head[0] == 0xFF && head[1]&0xE6 == 0xE2:
		return "compressed MPEG sound"
	}
	return ""
}

// Sniff tells whether a file with these first bytes, 12 or more of them, is
// sound: one that can be read or one for which [Open] says why not.
func Sniff(head []byte) bool {
	if bytes.HasPrefix(head, []byte("ID3")) {
		return true
	}
	return kindOf(head) != ""
}

const convert = "Save it as WAV or FLAC with a sound editor, without changing the sample rate, and give that file."

func (r *Reader) notOurs(kind string, at int64, head []byte) error {
	switch {
	case len(head) == 0:
		return r.problem(at, "the end of the file", "a WAV or FLAC recording", "The file holds no recording: copy it anew from where it was made.")
	case kind != "":
		return r.problem(at, kind, "a WAV or FLAC recording", convert)
	}
	return r.problem(at, quoted(head[:min(4, len(head))]), `"RIFF", "RIFX", "RF64", "BW64" or "fLaC"`, "This is no WAV or FLAC recording, or its beginning is lost. "+convert)
}

func (r *Reader) problem(at int64, found, expected, do string) *Problem {
	return &Problem{File: r.info.Name, At: at, Found: found, Expected: expected, Do: do}
}

func (r *Reader) warn(w Warning) { r.warnings = append(r.warnings, w) }

// Info returns what the header says and what was found beside it.
func (r *Reader) Info() Info { return r.info }

// Warnings returns what is wrong with the recording; complete once Read has
// returned [io.EOF].
func (r *Reader) Warnings() []Warning { return append([]Warning(nil), r.warnings...) }

// Rate is the nominal sample rate in hertz.
func (r *Reader) Rate() float64 { return r.info.RateHz }

// Channels is the number of channels.
func (r *Reader) Channels() int { return r.info.Channels }

// Read fills dst with whole frames, channels interleaved, full scale ±1. It is
// as [setwright/signal.Source] asks: frames come with a nil error, the end is 0
// and io.EOF. A stop before the end that cannot be trusted is a [*Problem].
func (r *Reader) Read(dst []float64) (int, error) {
	c := r.info.Channels
	if len(dst) < c {
		return 0, io.ErrShortBuffer
	}
	if r.err != nil {
		return 0, r.err
	}
	n, err := r.dec.read(dst[:len(dst)/c*c])
	r.pos += int64(n)
	if err != nil {
		r.err = err
	}
	if n > 0 {
		return n, nil
	}
	return 0, err
}

// Skip passes over frames, by seeking where that can be done. Passing over the
// end is no error: what follows is io.EOF.
func (r *Reader) Skip(frames int64) error {
	if r.err != nil && r.err != io.EOF {
		return r.err
	}
	if frames <= 0 || r.err == io.EOF {
		return nil
	}
	n, err := r.dec.skip(frames)
	r.pos += n
	if err != nil {
		r.err = err
	}
	if err == io.EOF {
		return nil
	}
	return err
}

// Close ends what reads ahead. It does not close what the recording is read
// from. Read after Close returns [io.ErrClosedPipe].
func (r *Reader) Close() error {
	r.dec.close()
	if r.err == nil {
		r.err = io.ErrClosedPipe
	}
	return nil
}
