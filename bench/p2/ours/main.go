// Command ours is this project's side of workloads P2 and P2r: a warm-up of two
// exponentials and a line is fitted to 7200 readings, then to resamples of it.
//
//	ours -make FILE          writes the record: 7200 float64, little-endian
//	ours FILE                P2: 1000 resamples, least squares; prints JSON
//	ours -huber FILE         P2r: 100 resamples, Huber loss with the knee at 6 Hz
//	ours -resamples N ...    another number of resamples
package main

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"

	"setwright/stability"
)

const readings = 7200 // one a second

func main() {
	makeFile := flag.String("make", "", "write a record to this file and stop")
	huber := flag.Bool("huber", false, "workload P2r")
	n := flag.Int("resamples", -1, "number of resamples")
	flag.Parse()
	var err error
	if *makeFile != "" {
		err = write(*makeFile)
	} else {
		err = compute(flag.Arg(0), *huber, *n)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// splitmix64 turns a count into 64 mixed bits.
func splitmix64(i uint64) uint64 {
	z := 20080701 + (i+1)*0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// write makes an invented record: noise of 3 Hz (twelve uniform numbers added),
// one reading in fifty 25 Hz off.
func write(file string) error {
	out := make([]byte, 0, 8*readings)
	for i := range uint64(readings) {
		noise := -6.0
		for j := range uint64(12) {
			noise += float64(splitmix64(13*i+j)>>11) / (1 << 53)
		}
		noise *= 3
		switch splitmix64(13*i+12) % 100 {
		case 0:
			noise += 25
		case 1:
			noise -= 25
		}
		t := float64(i)
		f := 4.2e6 + t/720 + 300*math.Exp(-t/150) - 2000*math.Exp(-t/1200) + noise
		out = binary.LittleEndian.AppendUint64(out, math.Float64bits(f))
	}
	return os.WriteFile(file, out, 0o644)
}

func compute(file string, huber bool, n int) error {
	raw, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	if len(raw) != 8*readings {
		return fmt.Errorf("%s holds %d bytes, expected %d", file, len(raw), 8*readings)
	}
	t, f := make([]float64, readings), make([]float64, readings)
	for i := range f {
		t[i] = float64(i)
		f[i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
	}
	opt := stability.WarmUpOptions{Terms: []int{2}, Loss: stability.LeastSquares}
	if huber {
		opt.Loss, opt.ScaleHz = stability.Huber, 3 // the knee is at twice this
	}
	if n < 0 {
		n = map[bool]int{false: 1000, true: 100}[huber]
	}
	w, err := stability.FitWarmUp(context.Background(), t, f, opt)
	if err != nil {
		return err
	}
	refits, err := w.Refit(context.Background(), n, nil, func(resample int, into []int) {
		for i := range into {
			into[i] = int(splitmix64(uint64(1e9)+uint64(resample*readings+i)) % readings)
		}
	})
	if err != nil {
		return err
	}
	fit := stability.Resample{LimitHz: w.LimitHz, SlopeHzPerS: w.SlopeHzPerS}
	for _, term := range w.Terms {
		fit.AmplitudesHz = append(fit.AmplitudesHz, term.AmplitudeHz)
		fit.TausS = append(fit.TausS, term.TauS)
	}
	out := map[string]any{"fit": row(fit)}
	var rows [][]float64
	for _, r := range refits {
		rows = append(rows, row(r))
	}
	out["resamples"] = rows
	return json.NewEncoder(os.Stdout).Encode(out)
}

// row lists limit at the end of the record less 4.2 MHz, slope, amplitudes, time constants.
func row(r stability.Resample) []float64 {
	return append(append([]float64{r.LimitHz - 4.2e6, r.SlopeHzPerS}, r.AmplitudesHz...), r.TausS...)
}
