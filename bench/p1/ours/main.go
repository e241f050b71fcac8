// Command ours is this project's side of workload P1: overlapping, modified
// and Hadamard deviations at octave averaging times of a long phase record.
//
//	ours -make FILE -n N    writes the record: N float64, little-endian
//	ours FILE               prints the deviations of the record as JSON
package main

import (
	"bufio"
	"encoding/binary"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"os"

	"setwright/stability"
)

func main() {
	makeFile := flag.String("make", "", "write a record to this file and stop")
	n := flag.Int("n", 1_000_000, "number of phase points")
	flag.Parse()
	var err error
	if *makeFile != "" {
		err = write(*makeFile, *n)
	} else {
		err = compute(flag.Arg(0))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// write makes an invented record: white and random walk frequency noise from a
// fixed seed (splitmix64), added up to phase.
func write(file string, n int) error {
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	var state uint64 = 20080701
	uniform := func() float64 {
		state += 0x9e3779b97f4a7c15
		z := (state ^ state>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return float64((z^z>>31)>>11)/(1<<53) - 0.5
	}
	x, walk := 0.0, 0.0
	var b [8]byte
	for range n {
		binary.LittleEndian.PutUint64(b[:], math.Float64bits(x))
		w.Write(b[:]) // a failure is kept and reported by Flush
		walk += 1e-3 * uniform()
		x += 1e-9 * (uniform() + walk)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.Close()
}

// read reads a whole record straight into its final place.
func read(file string) ([]float64, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	x := make([]float64, info.Size()/8)
	buf := make([]byte, 1<<18)
	for rest := x; len(rest) > 0; {
		part := buf[:min(len(buf), 8*len(rest))]
		if _, err := io.ReadFull(f, part); err != nil {
			return nil, err
		}
		k := len(part) / 8
		for i := range rest[:k] {
			rest[i] = math.Float64frombits(binary.LittleEndian.Uint64(part[8*i:]))
		}
		rest = rest[k:]
	}
	return x, nil
}

func compute(file string) error {
	x, err := read(file)
	if err != nil {
		return err
	}
	p, err := stability.NewPhase(x, 1)
	if err != nil {
		return err
	}
	kinds := []stability.Kind{stability.KindOverlappingAllan, stability.KindModifiedAllan, stability.KindOverlappingHadamard}
	all, err := stability.DeviationsOf(p, stability.DeviationOptions{Kinds: kinds})
	if err != nil {
		return err
	}
	out := map[string]map[int]float64{}
	for i, k := range kinds {
		out[k.String()] = map[int]float64{}
		for _, d := range all[i] {
			out[k.String()][d.M] = d.Value
		}
	}
	return json.NewEncoder(os.Stdout).Encode(out)
}
