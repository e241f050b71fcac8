package recording

import "testing"

// rfc9639 are the three streams of RFC 9639 appendix D, which is decoded there
// step by step. Transcribed from memory of the document; that they are right is
// shown by the checksums of each head and frame and the digest of all samples,
// which the streams carry.
var rfc9639 = []struct {
	name   string
	stream string
	rate   float64
	bits   int
	want   []float64 // integers, channels interleaved; the beginning
	frames int
}{
	{"D.1: one frame of two verbatim samples", `
		664c6143 80000022 10001000 00000f00 000f0ac4 42f00000 00013e84 b41807dc 69030758
		6a3dad1a 2e0ffff8 69180000 bf0358fd 03128baa 9a`,
		44100, 16, []float64{25588, 10416}, 1},
	{"D.2: fixed predictors, side channel, other metadata", `
		664c6143 00000022 00100010 00001700 00440ac4 42f00000 0013d5b0 564975e9 8b8d8b93
		0422757b 81030300 00120000 00000000 00000000 00000000 00000010 0400003a 20000000 7265
		66657265 6e636520 6c696246 4c414320 312e332e 33203230 31393038 30340100 00000e00
		00005449 544c453d d7a9d79c d795d79d 81000006 00000000 0000fff8 6998000f 99120867
		01623d14 42998f5d f70d6fe0 0c17caeb 21000ee7 a77a24a1 590c1217 b603097b 784faa9a
		33d285e0 70ad5b1b 4851b401 0d99d2cd 1a68f1e6 b810fff8
		69180102 a402c382 c40bc14a 03ee48dd 03b67c13 30`,
		44100, 16, []float64{10372, 6070}, 19},
	{"D.3: a linear predictor", `
		664c6143 80000022 10001000 00001f00 001f07d0 00700000 0018f8f9 e396f5cb cfc6dc80
		7f997790 6b32fff8 68020017 e944004f 6f313d10 47d227cb 6d090831 452bdc28 22228057 a3`,
		32000, 8, []float64{0, 79, 111, 78, 8, -61, -90, -68, -13, 42, 67, 53, 13, -27, -46, -38, -12, 14, 24, 19, 6, -4, -5, 0}, 24},
}

func TestRFC9639(t *testing.T) {
	for _, c := range rfc9639 {
		r := openBytes(t, unhex(t, c.stream))
		got := readAll(t, r)
		if w := r.Warnings(); len(w) > 0 {
			t.Errorf("%s: %v", c.name, w)
		}
		i := r.Info()
		if i.RateHz != c.rate || i.Bits != c.bits || i.Frames != int64(c.frames) || len(got) != c.frames*i.Channels {
			t.Errorf("%s: %d samples, read as %+v", c.name, len(got), i)
		}
		full := float64(int64(1) << (c.bits - 1))
		for k, want := range c.want {
			if k < len(got) && got[k]*full != want {
				t.Errorf("%s: sample %d is %v, want %v", c.name, k, got[k]*full, want)
			}
		}
	}
}
