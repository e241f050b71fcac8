package recording

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// Tags of the fmt chunk.
const (
	tagPCM        = 1
	tagFloat      = 3
	tagALaw       = 6
	tagMuLaw      = 7
	tagExtensible = 0xFFFE
)

// otherTags names formats that are compressed, for the message.
var otherTags = map[uint16]string{
	2: "adaptive PCM (tag 2)", 0x11: "adaptive PCM (tag 17)", 0x31: "GSM speech coding (tag 49)",
	0x50: "MPEG layer 1 or 2 (tag 80)", 0x55: "MPEG layer 3 (tag 85)",
}

// wav reads the samples of a WAV file.
type wav struct {
	*riff
	align     int // bytes of a frame
	container int // bytes of a sample
	convert   converter
	raw       []byte
	left      int64   // bytes of samples still to read, −1: to the end
	stated    int64   // frames that the header promises, −1: it does not say
	told      bool    // that the end is lost
	peak      float64 // of floating-point samples
	low       uint64  // or of the bits that should be zero
}

// format reads the fmt chunk, which begins at byte at.
func (w *wav) format(b []byte, at int64) error {
	if len(b) < 16 {
		return w.problem(at, fmt.Sprintf("a format of %d bytes", len(b)), "16 or more", damagedHead)
	}
	u16 := func(i int) int { return int(w.order.Uint16(b[i:])) }
	tag, channels, rate, perSecond, align, bits := uint16(u16(0)), u16(2), w.order.Uint32(b[4:]), w.order.Uint32(b[8:]), u16(12), u16(14)
	valid, ok := bits, true
	if tag == tagExtensible {
		if len(b) < 40 {
			return w.problem(at, fmt.Sprintf("an extensible format of %d bytes", len(b)), "40", damagedHead)
		}
		if tag, ok = w.subFormat(b[24:40]); !ok {
			return w.problem(at+24, "an unknown sub-format, "+quoted(b[24:40]), "that of PCM or floating point", convert)
		}
		if v := u16(18); v > 0 {
			valid = v
		}
	}
	i := &w.info
	i.Channels, i.RateHz, i.Bits, i.Container = channels, float64(rate), valid, (bits+7)/8*8
	i.Float = tag == tagFloat
	w.align, w.container = align, i.Container/8
	if p := w.checkFormat(at, rate, align, bits); p != nil {
		return p
	}
	if want := uint64(rate) * uint64(align); uint64(perSecond) != want && want <= math.MaxUint32 {
		w.warn(Warning{Fault: OddHeader, Text: fmt.Sprintf(
			"The header's bytes a second are %d, but %d Hz and frames of %d bytes make %d. The sample rate of %d Hz was used; check it if frequencies look wrong.", perSecond, rate, align, want, rate)})
	}
	w.sharpen()
	return w.choose(tag, at)
}

// subFormat returns the old tag within a GUID. In RIFX its first three numbers
// are big-endian, or only the tag is: both are found in files.
func (w *wav) subFormat(guid []byte) (tag uint16, ok bool) {
	if string(guid[2:]) == guidTail {
		return w.order.Uint16(guid), true
	}
	if w.info.Format != "RIFX" {
		return 0, false
	}
	g := bytes.Clone(guid)
	reverse(g[:4], 4)
	reverse(g[4:8], 2)
	return binary.LittleEndian.Uint16(g), string(g[2:]) == guidTail
}

// checkFormat refuses what cannot be.
func (w *wav) checkFormat(at int64, rate uint32, align, bits int) error {
	i := w.info
	switch {
	case i.Channels < 1 || i.Channels > maxChannels:
		return w.problem(at+2, fmt.Sprintf("%d channels", i.Channels), fmt.Sprintf("1 to %d", maxChannels), damagedHead)
	case rate < 1 || rate > maxRate:
		return w.problem(at+4, fmt.Sprintf("a sample rate of %d Hz", rate), fmt.Sprintf("1 to %d Hz", maxRate), damagedHead)
	case bits < 1 || bits > 64:
		return w.problem(at+14, fmt.Sprintf("samples of %d bits", bits), "1 to 64", damagedHead)
	case align != i.Channels*w.container:
		return w.problem(at+12, fmt.Sprintf("frames of %d bytes (channels: %d, bits: %d)", align, i.Channels, bits),
			fmt.Sprintf("%d bytes", i.Channels*w.container), "The header contradicts itself, so the samples cannot be told apart. "+convert)
	case i.Bits > bits:
		return w.problem(at+18, fmt.Sprintf("%d valid bits in samples of %d", i.Bits, bits), fmt.Sprintf("at most %d", bits), damagedHead)
	}
	return nil
}

// choose picks the conversion.
func (w *wav) choose(tag uint16, at int64) error {
	bits := w.info.Container
	switch {
	case tag == tagPCM && w.info.Bits < bits:
		w.convert = w.loose
	case tag == tagPCM:
		w.convert = integers(bits)
	case tag == tagFloat && bits == 32:
		w.convert = w.float32s
	case tag == tagFloat && bits == 64:
		w.convert = w.float64s
	case tag == tagALaw && bits == 8:
		w.info.Law, w.convert = "A-law", companded(aLaw)
	case tag == tagMuLaw && bits == 8:
		w.info.Law, w.convert = "mu-law", companded(muLaw)
	case tag == tagFloat || tag == tagALaw || tag == tagMuLaw:
		return w.problem(at+14, fmt.Sprintf("format tag %d with samples of %d bits", tag, w.info.Bits), "32 or 64 bits for floating point, 8 for A-law and mu-law", damagedHead)
	default:
		name, ok := otherTags[tag]
		if !ok {
			name = fmt.Sprintf("format tag %d", tag)
		}
		return w.problem(at, name, "PCM, floating point, A-law or mu-law", "Compressed sound has lost what is to be measured: record anew as PCM if you can. "+convert)
	}
	return nil
}

// rawSize is how many bytes are converted at a time.
const rawSize = 1 << 16

func (w *wav) read(dst []float64) (int, error) {
	if w.raw == nil {
		w.raw = make([]byte, max(rawSize/w.align, 1)*w.align)
	}
	c, done := w.info.Channels, 0
	for done < len(dst) {
		n, err := w.block(dst[done:])
		done += n
		if err != nil {
			return done / c, err
		}
	}
	return done / c, nil
}

// block reads and converts as much as fits, and returns the number of samples,
// all of whole frames.
func (w *wav) block(dst []float64) (int, error) {
	want := min(len(dst)*w.container, len(w.raw))
	if w.left >= 0 {
		want = int(min(int64(want), w.left/int64(w.align)*int64(w.align)))
	}
	at := w.in.pos
	n, err := w.in.read(w.raw[:want])
	whole := n / w.align * w.align
	if w.left >= 0 {
		w.left -= int64(n)
	}
	samples := whole / w.container
	if w.info.Format == "RIFX" {
		reverse(w.raw[:whole], w.container)
	}
	if bad := w.convert(dst[:samples], w.raw[:whole]); bad >= 0 {
		return bad / w.info.Channels * w.info.Channels, w.notFinite(at + int64(bad*w.container))
	}
	if err != nil {
		return samples, err
	}
	if n < want || want == 0 {
		w.finish(int64(n - whole))
		return samples, io.EOF
	}
	return samples, nil
}

func (w *wav) notFinite(at int64) *Problem {
	return w.problem(at, "a sample that is no number, or beyond all bounds", "a number near or within ±1",
		"The file is damaged from here on, or what wrote it went wrong. Use the part before this place, or record anew.")
}

func (w *wav) skip(n int64) (int64, error) {
	a := int64(w.align)
	if w.left >= 0 {
		n = min(n, w.left/a)
	}
	n = min(n, (1<<62)/a)
	passed, err := w.in.skip(n * a)
	if w.left >= 0 {
		w.left -= passed
	}
	if err == nil && passed < n*a {
		w.finish(passed % a)
		err = io.EOF
	}
	return passed / a, err
}

func (w *wav) close() {}
