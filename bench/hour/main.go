// Command hour makes the long recordings that workloads read: a tone in white
// noise, the same in every run, written as a stream.
//
//	hour -seconds 3600 FILE.wav      48 kHz, 16 bit, one channel
//	hour -flac FILE.flac FILE.wav    and the same samples as FLAC
//
// It makes nothing anew where the files are there already and were made with
// the same numbers. FLAC is made by the flac program, which must be installed.
// Everything in the recordings is invented.
package main

import (
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"

	"setwright/recording"
)

// content is what the recording holds.
type content struct {
	seconds, rate         float64
	channels, bits        int
	hz, amplitude, noise  float64
	swing, period, second float64
	fade                  float64
}

func main() {
	var c content
	flag.Float64Var(&c.seconds, "seconds", 3600, "length")
	flag.Float64Var(&c.rate, "rate", 48000, "sample rate in hertz")
	flag.IntVar(&c.channels, "channels", 1, "channels; the noise of each is its own")
	flag.IntVar(&c.bits, "bits", 16, "bits a sample, 16 or 24")
	flag.Float64Var(&c.hz, "hz", 1000, "frequency of the tone")
	flag.Float64Var(&c.amplitude, "amplitude", 0.1, "peak of the tone")
	flag.Float64Var(&c.noise, "noise", 0.01, "rms of the white noise")
	flag.Float64Var(&c.swing, "swing", 0, "the frequency of the tone swings by so many hertz up and down")
	flag.Float64Var(&c.period, "period", 600, "period of that swing, and of fades, in seconds")
	flag.Float64Var(&c.fade, "fade", 0, "all of it falls by so many decibels and rises again in each period")
	flag.Float64Var(&c.second, "second", 0, "peak of the second harmonic")
	asFLAC := flag.String("flac", "", "make this FLAC file from the WAV file too")
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "hour: expected one file name; see -help")
		os.Exit(2)
	}
	if err := c.files(flag.Arg(0), *asFLAC); err != nil {
		fmt.Fprintln(os.Stderr, "hour:", err)
		os.Exit(1)
	}
}

// files makes what is not there yet. A note beside the WAV file keeps the
// numbers that it was made with.
func (c content) files(wav, asFLAC string) error {
	note, numbers := wav+".made", fmt.Sprintf("%+v", c)
	if said, err := os.ReadFile(note); err != nil || string(said) != numbers || !exists(wav) {
		os.Remove(note)
		if err := c.write(wav); err != nil {
			return err
		}
		if asFLAC != "" {
			os.Remove(asFLAC)
		}
		if err := os.WriteFile(note, []byte(numbers), 0o644); err != nil {
			return err
		}
	}
	if asFLAC == "" || exists(asFLAC) {
		return nil
	}
	out, err := exec.Command("flac", "--silent", "--force", "-o", asFLAC, wav).CombinedOutput()
	if err != nil {
		return fmt.Errorf("flac: %v: %s", err, out)
	}
	return nil
}

func exists(file string) bool {
	info, err := os.Stat(file)
	return err == nil && info.Size() > 0
}

func (c content) write(file string) error {
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	defer f.Close()
	w, err := recording.NewWriter(f, recording.Format{RateHz: c.rate, Channels: c.channels, Bits: c.bits})
	if err != nil {
		return err
	}
	noise := newGaussian(19391945)
	block := make([]float64, 0, 1<<14*c.channels)
	frames := int64(math.Round(c.seconds * c.rate))
	for n := range frames {
		tone, gain := c.tone(float64(n)/c.rate), c.gain(float64(n)/c.rate)
		for range c.channels {
			block = append(block, gain*(tone+c.noise*noise.next()))
		}
		if len(block) == cap(block) || n == frames-1 {
			if err := w.Write(block); err != nil {
				return err
			}
			block = block[:0]
		}
	}
	if err := w.Close(); err != nil {
		return err
	}
	return f.Close()
}

// tone at t seconds: cycles are hz*t and the integral of the swing
// swing*sin(2πt/period).
func (c content) tone(t float64) float64 {
	turn := 2 * math.Pi / c.period
	_, cycles := math.Modf(c.hz*t + c.swing*(1-math.Cos(turn*t))/turn)
	sin, cos := math.Sincos(2 * math.Pi * cycles)
	return c.amplitude*sin + c.second*2*sin*cos
}

// gain is that of the fades at t seconds.
func (c content) gain(t float64) float64 {
	if c.fade == 0 {
		return 1
	}
	return math.Pow(10, -c.fade/40*(1-math.Cos(2*math.Pi*t/c.period)))
}

// gaussian draws normal numbers: splitmix64 and the polar method.
type gaussian struct {
	state uint64
	spare float64
	have  bool
}

func newGaussian(seed uint64) *gaussian { return &gaussian{state: seed} }

func (g *gaussian) uniform() float64 {
	g.state += 0x9e3779b97f4a7c15
	z := (g.state ^ g.state>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return float64((z^z>>31)>>11)/(1<<52) - 1
}

func (g *gaussian) next() float64 {
	if g.have {
		g.have = false
		return g.spare
	}
	for {
		x, y := g.uniform(), g.uniform()
		if s := x*x + y*y; s > 0 && s < 1 {
			k := math.Sqrt(-2 * math.Log(s) / s)
			g.spare, g.have = y*k, true
			return x * k
		}
	}
}
