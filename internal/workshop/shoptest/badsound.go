package shoptest

import (
	"encoding/binary"
	"encoding/hex"
	"math"
	"strings"
)

// BadSound is a recording as it goes wrong between a bench and a book. Want is
// why it is refused, after its name; where it is empty the recording is taken
// and Warn is among what is said about it.
type BadSound struct {
	Name, Data string
	Want, Warn string
}

// BadSounds are damaged recordings, and some that hold nothing worth having.
func BadSounds() []BadSound {
	const (
		anew     = " Copy the file anew from where it was made."
		head     = ". The header is damaged." + anew
		save     = " Save it as WAV or FLAC with a sound editor, without changing the sample rate, and give that file."
		signs    = `, expected "RIFF", "RIFX", "RF64", "BW64" or "fLaC". This is no WAV or FLAC recording, or its beginning is lost.` + save
		nothing  = ". The recording was cut off before its first sample, or was never written." + anew
		noNumber = ", byte 36: found a sample that is no number, or beyond all bounds, expected a number near or within ±1. The file is damaged from here on, or what wrote it went wrong. Use the part before this place, or record anew."
	)
	samples := recorded(40_000, 0.3, 0.01)
	whole := wav(1, 1, 8000, 16, 2, samples)
	flac := flacStream()
	nan := binary.LittleEndian.AppendUint32(nil, math.Float32bits(float32(math.NaN())))
	return []BadSound{
		{"empty.wav", "", ", byte 0: found the end of the file, expected a WAV or FLAC recording. The file holds no recording: copy it anew from where it was made.", ""},
		{"cut in the header.wav", whole[:30], `, byte 12: found the end of the file after 10 bytes of the "fmt " chunk, expected 16 bytes. The header is cut off: there are no samples to read.` + anew, ""},
		{"never written.wav", whole[:44], ", byte 44: found no samples, expected at least one" + nothing, ""},
		{"junk before.wav", "HTTP/1.1 200 OK\r\n\r\n" + whole, `, byte 0: found "HTTP"` + signs, ""},
		{"misnamed.mp3", "ID3\x04\x00\x00\x00\x00\x00\x00\xff\xfb\x90\x00" + strings.Repeat("\x00", 400), `, byte 10: found compressed MPEG sound, expected a WAV or FLAC recording.` + save, ""},
		{"frames of 4 bytes.wav", wav(1, 1, 8000, 16, 4, samples), ", byte 32: found frames of 4 bytes (channels: 1, bits: 16), expected 2 bytes. The header contradicts itself, so the samples cannot be told apart." + save, ""},
		{"no channel.wav", wav(1, 0, 8000, 16, 0, samples), ", byte 22: found 0 channels, expected 1 to 64" + head, ""},
		{"rate 0.wav", wav(1, 1, 0, 16, 2, samples), ", byte 24: found a sample rate of 0 Hz, expected 1 to 10000000 Hz" + head, ""},
		{"no number.wav", wav(3, 1, 8000, 32, 4, string(nan)+strings.Repeat("\x00", 4000)), strings.Replace(noNumber, "36", "44", 1), ""},

		{"cut off.wav", whole[:len(whole)-20_001], "", "The end is lost: the header promises 5.000 s and the file ends after 3.750 s; 1.250 s are missing."},
		{"length not known.wav", strings.Replace(whole, "data"+whole[40:44], "data\xff\xff\xff\xff", 1), "", "The header does not say how long the recording is"},
		{"silence.wav", wav(1, 1, 8000, 16, 2, strings.Repeat("\x00", 40_000)), "", "the recording is silent: no sample is greater than the last bit"},
		{"stuck.wav", wav(1, 1, 8000, 16, 2, strings.Repeat("\x00\x10", 40_000)), "", "the recording is silent: every sample is the same, 12.5 % of full scale"},
		{"one frame.wav", wav(1, 1, 8000, 16, 2, "\x01\x02"), "", "the recording is a single sample"},
		{"broken frame.flac", flac[:219] + string(flac[219]^1) + flac[220:], "", "The FLAC frame at byte 204 is damaged: its checksum is wrong."},
		{"other digest.flac", flac[:26] + "\x00" + flac[27:], "", "The samples are not those that were encoded: their MD5 digest is"},
	}
}

// flacStream is the second worked example of RFC 9639, appendix D: two frames,
// at bytes 136 and 204, of 16 and 3 samples of two channels.
func flacStream() string {
	b, err := hex.DecodeString(strings.Join(strings.Fields(`
		664c6143 00000022 00100010 00001700 00440ac4 42f00000 0013d5b0 564975e9 8b8d8b93
		0422757b 81030300 00120000 00000000 00000000 00000000 00000010 0400003a 20000000 7265
		66657265 6e636520 6c696246 4c414320 312e332e 33203230 31393038 30340100 00000e00
		00005449 544c453d d7a9d79c d795d79d 81000006 00000000 0000fff8 6998000f 99120867
		01623d14 42998f5d f70d6fe0 0c17caeb 21000ee7 a77a24a1 590c1217 b603097b 784faa9a
		33d285e0 70ad5b1b 4851b401 0d99d2cd 1a68f1e6 b810fff8
		69180102 a402c382 c40bc14a 03ee48dd 03b67c13 30`), ""))
	if err != nil {
		panic(err) // it is spelled out above
	}
	return string(b)
}
