package recording

import (
	"bytes"
	"errors"
	"io"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// readAnything opens bytes as a file and as a pipe and reads them to the end:
// no panic, the same samples both ways, nothing that is no number, and no more
// samples than bytes can make.
func readAnything(t *testing.T, b []byte) {
	file, err := Open("x", bytes.NewReader(b), int64(len(b)))
	if err != nil {
		mustBeProblem(t, err)
		return
	}
	defer file.Close()
	got, err := readUntil(file)
	if err != nil {
		mustBeProblem(t, err)
	}
	for _, x := range got {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatal("a sample that is no number was delivered")
		}
	}
	for _, w := range file.Warnings() {
		if w.Text == "" || math.IsNaN(w.LostS) || w.LostS < 0 {
			t.Fatalf("warning %+v", w)
		}
	}
	pipe, err := Stream("x", bytes.NewReader(b))
	if err != nil {
		return
	}
	defer pipe.Close()
	if piped, err := readUntil(pipe); err == nil && file.err == io.EOF && len(piped) < len(got) {
		t.Fatalf("%d samples from a pipe, %d from a file", len(piped), len(got))
	}
	skipAnything(t, b, got)
}

// skipAnything passes over half and reads the rest.
func skipAnything(t *testing.T, b []byte, all []float64) {
	r, err := Open("x", bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	half := int64(len(all) / r.Channels() / 2)
	if err := r.Skip(half); err != nil {
		return // what cannot be trusted stands in front
	}
	rest, _ := readUntil(r)
	want := all[half*int64(r.Channels()):]
	if len(rest) != len(want) {
		t.Fatalf("%d samples after passing over %d frames, want %d", len(rest), half, len(want))
	}
	for i := range want {
		if rest[i] != want[i] {
			t.Fatalf("sample %d after passing over %d frames is %v, want %v", i, half, rest[i], want[i])
		}
	}
}

func mustBeProblem(t *testing.T, err error) {
	var p *Problem
	if !errors.As(err, &p) || p.Found == "" || p.Expected == "" || p.Do == "" {
		t.Fatalf("the error says too little: %#v", err)
	}
}

func FuzzWAV(f *testing.F) {
	for _, d := range damagedWAV() {
		f.Add(d.file)
	}
	f.Add(riffFile(part("LIST", make([]byte, 5)), extensible(tagPCM, 3, 48000, 24, 20), part("data", make([]byte, 90)), part("bext", make([]byte, bextFixed))))
	f.Add(bigEndian(riffFile(plain(), part("data", four)), 2))
	f.Fuzz(readAnything)
}

func FuzzFLAC(f *testing.F) {
	for _, c := range rfc9639 {
		f.Add(unhex(f, c.stream))
	}
	for seed := range 20 {
		f.Add(rapid.Custom(drawStream).Example(seed).bytes)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		readAnything(t, b)
		readAnything(t, repaired(b))
	})
}

// repaired sets the checksums of a FLAC stream right where its second frame can
// be found, so that a mutation gets past them to the decoder.
func repaired(b []byte) []byte {
	out := bytes.Clone(b)
	at := bytes.Index(out, []byte{0xFF, 0xF8})
	if at < 0 || len(out) < at+12 {
		return out
	}
	for n := 5; n < maxHeader && at+n < len(out)-2; n++ {
		kept := out[at+n]
		out[at+n] = crc8(out[at : at+n])
		if _, ok := parseFrameHeader(out[at:]); ok {
			break
		}
		out[at+n] = kept
	}
	end := len(out) - 2
	if next := bytes.Index(out[at+2:], []byte{0xFF, 0xF8}); next > 2 {
		end = at + next
	}
	sum := crc16(0, out[at:end])
	out[end], out[end+1] = byte(sum>>8), byte(sum)
	return out
}
