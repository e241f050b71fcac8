package recording

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"
)

// TestDamagedFiles lists what people read about every kind of damage. Where a
// file is refused, text is the error; else it is the warnings, and frames is
// how many are delivered.
func TestDamagedFiles(t *testing.T) {
	for _, c := range damagedWAV() {
		t.Run(c.name, func(t *testing.T) { c.check(t) })
	}
	for _, c := range damagedFLAC(t) {
		t.Run(c.name, func(t *testing.T) { c.check(t) })
	}
}

type damaged struct {
	name   string
	file   []byte
	frames int    // delivered before the end or the refusal
	text   string // error, or warnings one a line
}

func (c damaged) check(t *testing.T) {
	t.Helper()
	r, err := Open("x", bytes.NewReader(c.file), int64(len(c.file)))
	var said []string
	frames := 0
	if err == nil {
		defer r.Close()
		var samples []float64
		samples, err = readUntil(r)
		frames = len(samples) / r.Channels()
		for _, w := range r.Warnings() {
			said = append(said, w.Text)
		}
	}
	if err != nil {
		said = append(said, err.Error())
		var p *Problem
		if !errors.As(err, &p) || p.Expected == "" || p.Do == "" {
			t.Errorf("the error is no problem with all its parts: %#v", err)
		}
	}
	if got := strings.Join(said, "\n"); got != c.text || frames != c.frames {
		t.Errorf("%d frames, want %d, and said\n%s\nwant\n%s", frames, c.frames, got, c.text)
	}
}

// edited is a file with some bytes written over.
func edited(b []byte, at int, with ...byte) []byte {
	out := bytes.Clone(b)
	copy(out[at:], with)
	return out
}

func damagedWAV() []damaged {
	whole := riffFile(plain(), part("data", four))
	inf := make([]byte, 12)
	copy(inf[4:], []byte{0, 0, 0x80, 0x7F})
	nan := []byte{0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0xF8, 0x7F}
	float64Format := fmtPart(tagFloat, 1, 8000, 64)
	anew := " Copy the file anew from where it was made."
	head := ". The header is damaged." + anew
	save := "Save it as WAV or FLAC with a sound editor, without changing the sample rate, and give that file."
	cutShort := ". The recording was cut off before its first sample, or was never written." + anew
	return []damaged{
		{"empty", nil, 0, "x, byte 0: found the end of the file; expected a WAV or FLAC recording. The file holds no recording: copy it anew from where it was made."},
		{"text", []byte("time,frequency\n1,2\n"), 0, `x, byte 0: found "time"; expected "RIFF", "RIFX", "RF64", "BW64" or "fLaC". This is no WAV or FLAC recording, or its beginning is lost. ` + save},
		{"binary", []byte{1, 2, 3, 4, 5}, 0, `x, byte 0: found the bytes 01 02 03 04; expected "RIFF", "RIFX", "RF64", "BW64" or "fLaC". This is no WAV or FLAC recording, or its beginning is lost. ` + save},
		{"Ogg", []byte("OggS\x00\x02"), 0, "x, byte 0: found an Ogg stream; expected a WAV or FLAC recording. " + save},
		{"cut off in the first line", whole[:10], 0, `x, byte 0: found "RIFF"; expected "RIFF", "RIFX", "RF64", "BW64" or "fLaC". This is no WAV or FLAC recording, or its beginning is lost. ` + save},
		{"cut off in the format", whole[:30], 0, `x, byte 12: found the end of the file after 10 bytes of the "fmt " chunk; expected 16 bytes. The header is cut off: there are no samples to read.` + anew},
		{"format of 8 bytes", riffFile(part("fmt ", make([]byte, 8)), part("data", four)), 0, "x, byte 20: found a format of 8 bytes; expected 16 or more" + head},
		{"nothing but the format", whole[:36], 0, "x, byte 36: found the end of the file and no samples; expected a data chunk" + cutShort},
		{"nothing", whole[:12], 0, "x, byte 12: found the end of the file and neither a format nor samples; expected a data chunk" + cutShort},
		{"no samples", riffFile(plain(), part("data", nil)), 0, "x, byte 44: found no samples; expected at least one" + cutShort},
		{"no samples, chunks after", riffFile(plain(), part("data", nil), part("LIST", make([]byte, 8))), 0, "x, byte 44: found no samples; expected at least one" + cutShort},
		{"samples lost", whole[:44], 0, "x, byte 44: found no samples; expected at least one" + cutShort},
		{"format behind the samples", riffFile(part("data", four), plain()), 0, `x, byte 12: found samples before their format; expected a "fmt " chunk in front of them` + head},
		{"rubbish in place of a chunk", riffFile(plain(), part("\x00\x01\x02\x03", four)), 0, "x, byte 36: found the bytes 00 01 02 03; expected the name of a chunk. The header is damaged in front of the samples." + anew},
		{"rate 0", riffFile(fmtPart(tagPCM, 1, 0, 16), part("data", four)), 0, "x, byte 24: found a sample rate of 0 Hz; expected 1 to 10000000 Hz" + head},
		{"rate beyond all bounds", riffFile(fmtPart(tagPCM, 1, 10_000_001, 16), part("data", four)), 0, "x, byte 24: found a sample rate of 10000001 Hz; expected 1 to 10000000 Hz" + head},
		{"no channel", riffFile(fmtPart(tagPCM, 0, 8000, 16), part("data", four)), 0, "x, byte 22: found 0 channels; expected 1 to 64" + head},
		{"65 channels", riffFile(fmtPart(tagPCM, 65, 8000, 16), part("data", four)), 0, "x, byte 22: found 65 channels; expected 1 to 64" + head},
		{"0 bits", riffFile(fmtPart(tagPCM, 1, 8000, 0), part("data", four)), 0, "x, byte 34: found samples of 0 bits; expected 1 to 64" + head},
		{"72 bits", riffFile(fmtPart(tagPCM, 1, 8000, 72), part("data", four)), 0, "x, byte 34: found samples of 72 bits; expected 1 to 64" + head},
		{"frames that do not fit", edited(whole, 32, 4), 0, "x, byte 32: found frames of 4 bytes (channels: 1, bits: 16); expected 2 bytes. The header contradicts itself, so the samples cannot be told apart. " + save},
		{"more valid bits than bits", riffFile(extensible(tagPCM, 1, 8000, 16, 20), part("data", four)), 0, "x, byte 38: found 20 valid bits in samples of 16; expected at most 16" + head},
		{"extensible cut short", riffFile(part("fmt ", fmtBytes(tagExtensible, 1, 8000, 16)), part("data", four)), 0, "x, byte 20: found an extensible format of 16 bytes; expected 40" + head},
		{"unknown sub-format", riffFile(edited(extensible(tagPCM, 1, 8000, 16, 16), 40, 0xEE), part("data", four)), 0, "x, byte 44: found an unknown sub-format, the bytes 01 00 00 00 00 00 10 00 EE 00 00 AA 00 38 9B 71; expected that of PCM or floating point. " + save},
		{"compressed", riffFile(fmtPart(0x11, 1, 8000, 4), part("data", four)), 0, "x, byte 20: found adaptive PCM (tag 17); expected PCM, floating point, A-law or mu-law. Compressed sound has lost what is to be measured: record anew as PCM if you can. " + save},
		{"float of 16 bits", riffFile(fmtPart(tagFloat, 1, 8000, 16), part("data", four)), 0, "x, byte 34: found format tag 3 with samples of 16 bits; expected 32 or 64 bits for floating point, 8 for A-law and mu-law" + head},
		{"RF64 without ds64", append(sized("RF64", unknownSize, []byte("WAVE")), whole[12:]...), 0, `x, byte 12: found "fmt "; expected a ds64 chunk of 28 bytes or more, which a file of this kind begins with` + head},
		{"infinite", riffFile(fmtPart(tagFloat, 1, 8000, 32), part("data", inf)), 1, "x, byte 48: found a sample that is no number, or beyond all bounds; expected a number near or within ±1. The file is damaged from here on, or what wrote it went wrong. Use the part before this place, or record anew."},
		{"no number", riffFile(float64Format, part("data", nan)), 1, "x, byte 52: found a sample that is no number, or beyond all bounds; expected a number near or within ±1. The file is damaged from here on, or what wrote it went wrong. Use the part before this place, or record anew."},
		{"damaged ID3 tag", []byte("ID3\x03\x00\x00\xFF\x00\x00\x00...."), 0, "x, byte 6: found the byte 0xFF in the size of an ID3 tag; expected bytes below 0x80. The beginning of the file is damaged." + anew},

		{"end lost", whole[:len(whole)-3], 2, "The end is lost: the header promises 0.5 ms and the file ends after 0.25 ms; 0.25 ms are missing.\nThe samples end with 1 of the 2 bytes of a frame, which were left out."},
		{"end lost by far", edited(whole, 40, 0, 0x10, 0x0E, 0), 4, "The end is lost: the header promises 57.600 s and the file ends after 0.5 ms; 57.599 s are missing."},
		{"half a frame at the end", riffFile(plain(), part("data", four[:7])), 3, "The samples end with 1 of the 2 bytes of a frame, which were left out."},
		{"rubbish after the samples", append(bytes.Clone(whole), 1, 2, 3, 4, 5), 4, "5 bytes from byte 52 on, after the samples, are no whole chunk and were not read. If the recording should be longer than it is, its header was not brought up to date."},
		{"chunk after the samples cut off", riffFile(plain(), part("data", four), part("LIST", make([]byte, 9))[:12]), 4, "12 bytes from byte 52 on, after the samples, are no whole chunk and were not read. If the recording should be longer than it is, its header was not brought up to date."},
		{"samples twice", riffFile(plain(), part("data", four), part("data", four)), 4, "A second set of samples at byte 60 was not read."},
		{"bytes a second", edited(whole, 28, 1, 0, 0, 0), 4, "The header's bytes a second are 1, but 8000 Hz and frames of 2 bytes make 16000. The sample rate of 8000 Hz was used; check it if frequencies look wrong."},
		{"values at the wrong end", riffFile(extensible(tagPCM, 1, 8000, 24, 20), part("data", []byte{1, 0, 0})), 1, "The header promises 20 valid bits, but the bits below them are not zero. If the level is far too low, what wrote the file put the samples at the wrong end."},
		{"beyond full scale", riffFile(fmtPart(tagFloat, 1, 8000, 32), part("data", []byte{0, 0, 0x20, 0x40})), 1, "Floating-point samples go beyond full scale, to 2.5 times it. They were kept as they are."},
	}
}

// damagedFLAC damages the second stream of RFC 9639 appendix D (frames at bytes
// 136 and 204, of 16 and 3 samples at 44.1 kHz).
func damagedFLAC(t *testing.T) []damaged {
	whole := unhex(t, rfc9639[1].stream)
	const second = 204
	anew := " Copy the file anew from where it was made."
	lost := "The end is lost: the header promises 0.4308 ms and the file ends after 0.3628 ms; 0.06803 ms are missing."
	longer := append(bytes.Clone(whole), whole[second:]...)
	otherRate := edited(whole, second+2, 0x6A)
	otherRate[second+6] = crc8(otherRate[second : second+6])
	return []damaged{
		{"no metadata", whole[:6], 0, "x, byte 4: found the end of the file within the metadata; expected metadata and samples. The header is cut off: there are no samples to read." + anew},
		{"metadata cut off", whole[:60], 0, "x, byte 42: found the end of the file within the metadata; expected metadata and samples. The header is cut off: there are no samples to read." + anew},
		{"no STREAMINFO", edited(whole, 4, 4), 0, "x, byte 4: found a metadata block of type 4 and 34 bytes; expected STREAMINFO, type 0, 34 bytes, which a FLAC file begins with. The header is damaged." + anew},
		{"begins at a frame", whole[136:], 0, "x, byte 0: found a FLAC frame without the beginning of its file; expected a WAV or FLAC recording. Save it as WAV or FLAC with a sound editor, without changing the sample rate, and give that file."},
		{"rate 0", edited(whole, 18, 0, 0, 2), 0, "x, byte 18: found a sample rate of 0 Hz; expected 1 to 1048575 Hz. The file holds no sound, or its header is damaged." + anew},
		{"frames lost", whole[:second], 16, lost},
		{"cut off in a frame", whole[:second+12], 16, lost},
		{"cut off in the head of a frame", whole[:second+3], 16, lost},
		{"no frame", whole[:136], 0, "The end is lost: the header promises 0.4308 ms and the file ends after 0 s; 0.4308 ms are missing."},
		{"a bit of a frame", edited(whole, second+15, whole[second+15]^1), 16, "The FLAC frame at byte 204 is damaged: its checksum is wrong. What came before it, 0.3628 ms, was delivered; 0.06803 ms are missing."},
		{"a bit of the first frame", edited(whole, 160, whole[160]^4), 0, "The FLAC frame at byte 136 is damaged: its checksum is wrong. What came before it, 0 s, was delivered; 0.4308 ms are missing."},
		{"a bit of a head", edited(whole, second+4, whole[second+4]^1), 16, "The FLAC frame at byte 204 is damaged: its head is not one, or has a wrong checksum. What came before it, 0.3628 ms, was delivered; 0.06803 ms are missing."},
		{"first frame lost", append(bytes.Clone(whole[:136]), whole[second:]...), 3, "The beginning is lost: the file begins with the FLAC frame of sample 17, so 0.3628 ms are missing in front of it."},
		{"frame twice", longer, 19, "What follows the last FLAC frame, from byte 227 on, is no part of the recording and was not read."},
		{"other samples", edited(whole, 26, 0xFF), 19, "The samples are not those that were encoded: their MD5 digest is d5b0564975e98b8d8b930422757b8103, the header has ffb0564975e98b8d8b930422757b8103. All FLAC frames passed their own checksums."},
		{"more than promised", edited(whole, 25, 18), 19, "The header promises 0.4082 ms, but the file holds 0.4308 ms; all of it was delivered."},
		{"length not known", edited(whole, 25, 0), 19, ""},
		{"length not known and end lost", edited(whole, 25, 0)[:second+9], 16, "The end is lost: the file ends within the FLAC frame at byte 204, after 0.3628 ms; how much is missing is not known, for the header does not say how long the recording was."},
		{"tag behind", append(bytes.Clone(whole), append([]byte("TAG"), make([]byte, 125)...)...), 19, "What follows the last FLAC frame, from byte 227 on, is no part of the recording and was not read."},
		{"rubbish behind", append(bytes.Clone(whole), 1, 2, 3, 4), 19, "What follows the last FLAC frame, from byte 227 on, is no part of the recording and was not read."},
		{"other rate on the way", otherRate, 16, "x, byte 204: found a FLAC frame of 48000 Hz; expected 44100 as in the header. The recording changes on the way, or its header is damaged. Use the part before this place, or record anew."},
		{"other channels in the header", edited(whole, 20, 0x44), 0, "x, byte 136: found a FLAC frame of 2 channels; expected 3 as in the header. The recording changes on the way, or its header is damaged. Use the part before this place, or record anew."},
	}
}

// TestNoAllocationByHeader: sizes in a header cost nothing before there are
// bytes to fill them.
func TestNoAllocationByHeader(t *testing.T) {
	huge := sized("RF64", unknownSize, append([]byte("WAVE"), bytes.Join([][]byte{ds64Part(math.MaxUint64, 1<<62, 1<<61), fmtPart(tagFloat, 64, maxRate, 64), sized("data", unknownSize, make([]byte, 1024))}, nil)...))
	allocated := testing.AllocsPerRun(1, func() {
		r, err := Open("x", bytes.NewReader(huge), int64(len(huge)))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := readUntil(r); err != nil {
			t.Fatal(err)
		}
		if w := r.Warnings(); len(w) == 0 || w[0].Fault != LostEnd {
			t.Errorf("warnings %v", w)
		}
	})
	if allocated > 200 {
		t.Errorf("%v allocations", allocated)
	}
}

// TestPipeThatEndsEarly: what a file tells at once a pipe tells at its end.
func TestPipeThatEndsEarly(t *testing.T) {
	whole := riffFile(plain(), part("data", four))
	r, err := Stream("x", bytes.NewReader(whole[:len(whole)-3]))
	if err != nil {
		t.Fatal(err)
	}
	if i := r.Info(); i.Frames != -1 || i.FramesStated != 4 {
		t.Errorf("read as %+v", i)
	}
	same(t, readAll(t, r), fourSamples[:2])
	faults(t, r, []Fault{LostEnd, OddSize})
	if w := r.Warnings()[0]; w.LostS != 2.0/8000 {
		t.Errorf("%v s are lost, want two frames of 8 kHz", w.LostS)
	}
	r, err = Stream("x", bytes.NewReader(whole[:len(whole)-2]))
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Skip(4); err != nil {
		t.Fatal(err)
	}
	faults(t, r, []Fault{LostEnd})
}
