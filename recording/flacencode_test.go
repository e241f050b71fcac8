package recording

import (
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"math/bits"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"
)

// An encoder that draws every choice that the format leaves open, so that the
// decoder meets what encoders seldom do: escaped partitions, wasted bits, block
// sizes that vary, samples of 4 to 32 bits, all couplings of channels.

// bitWriter writes most significant bit first.
type bitWriter struct {
	b []byte
	n int // bits
}

func (w *bitWriter) put(v uint64, n int) {
	for i := n - 1; i >= 0; i-- {
		if w.n%8 == 0 {
			w.b = append(w.b, 0)
		}
		w.b[w.n/8] |= byte(v>>i&1) << (7 - w.n%8)
		w.n++
	}
}

func (w *bitWriter) unary(n int) {
	for range n {
		w.put(0, 1)
	}
	w.put(1, 1)
}

// drawnStream is a stream and the samples in it, channels apart.
type drawnStream struct {
	bytes                []byte
	starts               []int // of its frames
	channels, bits, rate int
	want                 [][]int64
}

// drawStream encodes drawn samples with drawn choices.
func drawStream(t *rapid.T) drawnStream {
	s := drawnStream{
		channels: rapid.IntRange(1, 8).Draw(t, "channels"), rate: rapid.SampledFrom([]int{8000, 44100, 48000, 12345, 655350, 7}).Draw(t, "rate"),
		bits: rapid.SampledFrom([]int{4, 8, 12, 16, 17, 20, 24, 31, 32}).Draw(t, "bits"),
	}
	s.want = make([][]int64, s.channels)
	variable := rapid.Bool().Draw(t, "variable")
	var frames [][]byte
	size, total := rapid.IntRange(16, 300).Draw(t, "block"), 0
	count := rapid.IntRange(1, 4).Draw(t, "frames")
	for n := range count {
		block := size
		if variable || n == count-1 {
			block = rapid.IntRange(1, size).Draw(t, "this block")
		}
		number := n
		if variable {
			number = total
		}
		frames = append(frames, s.frame(t, block, number, variable))
		total += block
	}
	s.head(t, size, total, variable)
	for _, f := range frames {
		s.starts = append(s.starts, len(s.bytes))
		s.bytes = append(s.bytes, f...)
	}
	return s
}

// head writes the signature and STREAMINFO.
func (s *drawnStream) head(t *rapid.T, size, total int, variable bool) {
	w := &bitWriter{b: []byte("fLaC\x80\x00\x00\x22"), n: 64}
	lowest := size
	if variable {
		lowest = 16
		size++
	}
	w.put(uint64(lowest), 16)
	w.put(uint64(size), 16)
	w.put(0, 48)
	w.put(uint64(s.rate), 20)
	w.put(uint64(s.channels-1), 3)
	w.put(uint64(s.bits-1), 5)
	if rapid.Bool().Draw(t, "length not known") {
		total = 0
	}
	w.put(uint64(total), 36)
	var raw bytes.Buffer
	for i := range s.want[0] {
		for _, ch := range s.want {
			raw.Write(binary.LittleEndian.AppendUint64(nil, uint64(ch[i]))[:(s.bits+7)/8])
		}
	}
	digest := md5.Sum(raw.Bytes())
	s.bytes = append(w.b, digest[:]...)
}

// frame encodes one block.
func (s *drawnStream) frame(t *rapid.T, block, number int, variable bool) []byte {
	w := &bitWriter{}
	w.put(0x7FFC, 15)
	w.put(uint64(bool2int(variable)), 1)
	w.put(7, 4) // size of the block in 16 bits
	w.put(0, 4) // rate as in STREAMINFO
	assignment := s.channels - 1
	if s.channels == 2 {
		assignment = rapid.SampledFrom([]int{1, 8, 9, 10}).Draw(t, "assignment")
	}
	w.put(uint64(assignment), 4)
	w.put(0, 4) // bits as in STREAMINFO
	w.putNumber(uint64(number))
	w.put(uint64(block-1), 16)
	w.put(uint64(crc8(w.b)), 8)
	coded := s.samples(t, block, assignment)
	for ch, x := range coded {
		depth := s.bits
		if assignment == 8 && ch == 1 || assignment == 9 && ch == 0 || assignment == 10 && ch == 1 {
			depth++
		}
		w.subframe(t, x, depth)
	}
	w.put(0, (8-w.n%8)%8)
	w.put(uint64(crc16(0, w.b)), 16)
	return w.b
}

func bool2int(b bool) int {
	if b {
		return 1
	}
	return 0
}

// putNumber codes a number below 2^31 as UTF-8 does.
func (w *bitWriter) putNumber(v uint64) {
	if v < 0x80 {
		w.put(v, 8)
		return
	}
	more := (bits.Len64(v) - 2) / 5
	w.put(uint64(0xFF00>>(more+1))&0xFF|v>>(6*more), 8)
	for i := more - 1; i >= 0; i-- {
		w.put(0x80|v>>(6*i)&0x3F, 8)
	}
}

// samples draws a block and couples its channels.
func (s *drawnStream) samples(t *rapid.T, block, assignment int) [][]int64 {
	low, high := -int64(1)<<(s.bits-1), int64(1)<<(s.bits-1)-1
	coded := make([][]int64, s.channels)
	for ch := range s.channels {
		kind, x := rapid.IntRange(0, 2).Draw(t, "kind"), make([]int64, block)
		wasted := rapid.IntRange(0, s.bits-2).Draw(t, "low zeros")
		slow := rapid.Int64Range(low, high).Draw(t, "level")
		for i := range x {
			switch kind {
			case 1:
				slow = min(max(slow+rapid.Int64Range(-3, 3).Draw(t, "step"), low), high)
			case 2:
				slow = rapid.Int64Range(low, high).Draw(t, "sample") >> wasted << wasted
			}
			x[i] = slow
		}
		s.want[ch] = append(s.want[ch], x...)
		coded[ch] = x
	}
	for i := range block {
		l, r := coded[0][i], int64(0)
		if s.channels > 1 {
			r = coded[1][i]
		}
		switch assignment {
		case 8:
			coded[1][i] = l - r
		case 9:
			coded[0][i] = l - r
		case 10:
			coded[0][i], coded[1][i] = (l+r)>>1, l-r
		}
	}
	return coded
}

// subframe codes one channel in a drawn way that can hold it.
func (w *bitWriter) subframe(t *rapid.T, x []int64, depth int) {
	wasted := depth - 1
	for _, v := range x {
		if v != 0 {
			wasted = min(wasted, bits.TrailingZeros64(uint64(v)))
		}
	}
	wasted = rapid.IntRange(0, wasted).Draw(t, "wasted bits")
	shifted := make([]int64, len(x))
	constant := true
	for i, v := range x {
		shifted[i] = v >> wasted
		constant = constant && v == x[0]
	}
	depth -= wasted
	way := rapid.IntRange(bool2int(!constant), 3).Draw(t, "way")
	order := rapid.IntRange(0, min(4, len(x)-1)).Draw(t, "order")
	residual := fixedResidual(shifted, order)
	if way >= 2 && residual == nil {
		way = 1
	}
	if order == 0 {
		way = min(way, 2)
	}
	kind := []int{0, 1, 8 + order, 31 + order}[way]
	w.put(uint64(kind), 7)
	w.put(uint64(bool2int(wasted > 0)), 1)
	if wasted > 0 {
		w.unary(wasted - 1)
	}
	switch {
	case way == 0:
		w.put(uint64(shifted[0]), depth)
	case way == 1:
		for _, v := range shifted {
			w.put(uint64(v), depth)
		}
	default:
		for _, v := range shifted[:order] {
			w.put(uint64(v), depth)
		}
		if kind >= 32 {
			w.put(4, 4) // coefficients of 5 bits
			w.put(1, 5) // twice the fixed predictor's, shifted back
			for _, c := range fixedCoefficients[order] {
				w.put(uint64(2*c), 5)
			}
		}
		w.residual(t, residual, order, len(x))
	}
}

// fixedCoefficients are those of the fixed predictors (RFC 9639, 9.2.5).
var fixedCoefficients = [5][]int64{{}, {1}, {2, -1}, {3, -3, 1}, {4, -6, 4, -1}}

// fixedResidual is what a fixed predictor is wrong by, nil where 32 bits do not
// hold it.
func fixedResidual(x []int64, order int) []int64 {
	out := []int64{}
	for i := order; i < len(x); i++ {
		r := x[i]
		for k, c := range fixedCoefficients[order] {
			r -= c * x[i-1-k]
		}
		if r < -1<<30 || r >= 1<<30 {
			return nil
		}
		out = append(out, r)
	}
	return out
}

// residual codes in drawn partitions, each with a drawn parameter or escaped.
func (w *bitWriter) residual(t *rapid.T, x []int64, order, block int) {
	method := rapid.IntRange(0, 1).Draw(t, "method")
	w.put(uint64(method), 2)
	partitions := 0
	for rapid.Bool().Draw(t, "split again") && block>>(partitions+1)<<(partitions+1) == block && block>>(partitions+1) > order {
		partitions++
	}
	w.put(uint64(partitions), 4)
	for p := range 1 << partitions {
		n := block >> partitions
		if p == 0 {
			n -= order
		}
		w.partition(t, x[:n], 4+method)
		x = x[n:]
	}
}

func (w *bitWriter) partition(t *rapid.T, x []int64, parameterBits int) {
	var largest uint64
	for _, v := range x {
		largest = max(largest, uint64(v<<1^v>>63))
	}
	need := bits.Len64(largest)
	lowest := max(need-7, 0) // up to 128 zeros
	if lowest > 1<<parameterBits-2 || rapid.Bool().Draw(t, "escape") {
		w.put(1<<parameterBits-1, parameterBits)
		w.put(uint64(need), 5)
		for _, v := range x {
			w.put(uint64(v), need)
		}
		return
	}
	k := rapid.IntRange(lowest, min(lowest+8, 1<<parameterBits-2)).Draw(t, "parameter")
	w.put(uint64(k), parameterBits)
	for _, v := range x {
		folded := uint64(v<<1 ^ v>>63)
		w.unary(int(folded >> k))
		w.put(folded, k)
	}
}

// TestEveryWayToEncode: whatever choices an encoder makes, the samples come
// back and the digest agrees; also after passing over some of them.
func TestEveryWayToEncode(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawStream(t)
		r, err := Open("x", bytes.NewReader(s.bytes), int64(len(s.bytes)))
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		n := len(s.want[0])
		skip := rapid.IntRange(0, n).Draw(t, "skip")
		if err := r.Skip(int64(skip)); err != nil {
			t.Fatal(err)
		}
		got, err := readUntil(r)
		if err != nil {
			t.Fatal(err)
		}
		if len(got) != (n-skip)*s.channels || len(r.Warnings()) > 0 {
			t.Fatalf("%d samples of %d channels, want %d; warnings %q", len(got), s.channels, n-skip, r.Warnings())
		}
		full := float64(int64(1) << (s.bits - 1))
		for i := skip; i < n; i++ {
			for ch := range s.channels {
				if x := got[(i-skip)*s.channels+ch] * full; x != float64(s.want[ch][i]) {
					t.Fatalf("frame %d, channel %d: %v, want %d", i, ch+1, x, s.want[ch][i])
				}
			}
		}
	})
}

// TestDrawnStreamsAreLegal: the reference decoder takes them, so that the test
// above tests the format and not a shared mistake.
func TestDrawnStreamsAreLegal(t *testing.T) {
	needTool(t, "flac")
	dir := t.TempDir()
	seen := 0
	for seed := range 40 {
		s := rapid.Custom(drawStream).Example(seed)
		if s.bits%4 != 0 || s.rate == 7 || len(s.want[0]) < 16 {
			continue
		}
		seen++
		file := filepath.Join(dir, "x.flac")
		if err := os.WriteFile(file, s.bytes, 0o644); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command("flac", "-t", "-s", file).CombinedOutput(); err != nil {
			t.Errorf("stream %d (%d bits, %d channels): %v: %s", seed, s.bits, s.channels, err, out)
		}
	}
	if seen < 10 {
		t.Errorf("only %d streams were tried", seen)
	}
}

// TestOneBitWrong: a flipped bit anywhere in the frames is always noticed, and
// what stands in front of its frame is delivered.
func TestOneBitWrong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawStream(t)
		at := rapid.IntRange(8*s.starts[0], 8*len(s.bytes)-1).Draw(t, "bit")
		b := bytes.Clone(s.bytes)
		b[at/8] ^= 1 << (at % 8)
		r, err := Open("x", bytes.NewReader(b), int64(len(b)))
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		got, err := readUntil(r)
		if err == nil && len(r.Warnings()) == 0 {
			t.Fatalf("bit %d was flipped and nobody noticed", at)
		}
		full := float64(int64(1) << (s.bits - 1))
		for i, x := range got {
			if want := s.want[i%s.channels][i/s.channels]; x*full != float64(want) {
				t.Fatalf("sample %d is %v, want %d", i, x*full, want)
			}
		}
		good := 0
		for good+1 < len(s.starts) && s.starts[good+1] <= at/8 {
			good++
		}
		if good > 0 && len(got) == 0 {
			t.Fatalf("%d good frames in front of the damage, nothing delivered", good)
		}
	})
}
