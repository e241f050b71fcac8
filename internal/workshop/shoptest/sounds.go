package shoptest

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
)

// rate is that of the recordings, samples a second.
const rate = 8000

// Recorded is a WAV file of one channel, 8 kHz and 16 bits: noise and, of so
// much of full scale, a tone of 997 Hz.
func Recorded(seconds, tone, noise float64) string {
	return wav(1, 1, 8000, 16, 2, recorded(int(8000*seconds), tone, noise))
}

// Stepped is such a recording of the output of a set with gain control while
// its input falls by 20 dB and rises again every so many seconds: the output
// follows at once and is brought back, to a tenth of the step, in a tenth of a
// second.
func Stepped(seconds, every float64) string {
	gain := 0.0 // dB
	return made(seconds, func(t float64) float64 {
		input := -20 * math.Mod(math.Floor(t/every), 2)
		gain += (-0.9*input - gain) / (0.1 * rate)
		return 0.05 * math.Pow(10, (input+gain)/20) * tone(t)
	}, 0.0005)
}

// Fading is such a recording of a tone that swings by 6 dB, so many times a
// second.
func Fading(seconds, hz float64) string {
	return made(seconds, func(t float64) float64 {
		return 0.2 * math.Pow(10, 3*math.Sin(2*math.Pi*hz*t)/20) * tone(t)
	}, 0.0005)
}

// Hiss is a recording of a band of noise between two frequencies: what a
// passband of a few hundred hertz and more sounds like.
func Hiss(seconds, lowHz, highHz float64) string {
	r := rand.New(rand.NewPCG(4, 1))
	mid, wide := (lowHz+highHz)/2, (highHz-lowHz)/2
	// Two noises through three equal poles each, mixed up to the middle.
	k := 1 - math.Exp(-2*math.Pi*1.96*wide/rate)
	var low [2][3]float64
	return made(seconds, func(t float64) float64 {
		for i := range low {
			x := r.NormFloat64()
			for j := range low[i] {
				low[i][j] += k * (x - low[i][j])
				x = low[i][j]
			}
		}
		s, c := math.Sincos(2 * math.Pi * mid * t)
		return 0.2 * (low[0][2]*c - low[1][2]*s)
	}, 0.00005)
}

func tone(t float64) float64 { return math.Sin(2 * math.Pi * 997 * t) }

func made(seconds float64, x func(t float64) float64, noise float64) string {
	r := rand.New(rand.NewPCG(997, 2))
	b := make([]byte, 0, 2*int(rate*seconds))
	for i := range int(rate * seconds) {
		v := math.Max(-1, math.Min(1, x(float64(i)/rate)+noise*r.NormFloat64()))
		b = binary.LittleEndian.AppendUint16(b, uint16(int16(math.Round(32767*v))))
	}
	return wav(1, 1, rate, 16, 2, string(b))
}

// wav is a file with a header of that format.
func wav(tag, channels uint16, rate uint32, bits, align uint16, samples string) string {
	le := binary.LittleEndian
	b := append(le.AppendUint32([]byte("RIFF"), uint32(36+len(samples))), "WAVEfmt \x10\x00\x00\x00"...)
	b = le.AppendUint16(le.AppendUint16(b, tag), channels)
	b = le.AppendUint32(le.AppendUint32(b, rate), rate*uint32(align))
	b = le.AppendUint16(le.AppendUint16(b, align), bits)
	return string(le.AppendUint32(append(b, "data"...), uint32(len(samples)))) + samples
}

func recorded(frames int, tone, noise float64) string {
	r := rand.New(rand.NewPCG(997, 1))
	b := make([]byte, 0, 2*frames)
	for i := range frames {
		x := tone*math.Sin(2*math.Pi*997*float64(i)/8000) + noise*r.NormFloat64()
		b = binary.LittleEndian.AppendUint16(b, uint16(int16(math.Round(32767*math.Max(-1, math.Min(1, x))))))
	}
	return string(b)
}
