// Command ours is this project's side of workload P8: a long series of
// readings stored in a book, in one go or in many durable transactions, and
// read back.
//
//	ours -make FILE -n N      writes the readings: N times and N frequencies, float64, little-endian
//	ours insert FILE DIR      stores them as one run, in one transaction
//	ours live FILE DIR        stores them in 1000 transactions, each on the disk before the next
//	ours read DIR             reads them all back; prints how many and their digests
//
// With -cpuprofile FILE it writes a profile of itself.
package main

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime/pprof"
	"time"

	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/store"
)

const transactions = 1000

func main() {
	makeFile := flag.String("make", "", "write readings to this file and stop")
	n := flag.Int("n", 1_000_000, "number of readings")
	profile := flag.String("cpuprofile", "", "write a profile to this file")
	flag.Parse()
	if *profile != "" {
		f, err := os.Create(*profile)
		if err == nil {
			err = pprof.StartCPUProfile(f)
		}
		exit(err)
		defer pprof.StopCPUProfile()
	}
	switch {
	case *makeFile != "":
		exit(write(*makeFile, *n))
	case flag.Arg(0) == "insert":
		exit(insert(flag.Arg(1), flag.Arg(2)))
	case flag.Arg(0) == "live":
		exit(live(flag.Arg(1), flag.Arg(2)))
	case flag.Arg(0) == "read":
		exit(read(flag.Arg(1)))
	default:
		exit(fmt.Errorf("what to do is %q, expected insert, live or read", flag.Arg(0)))
	}
}

func exit(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// write makes an invented log: a reading a second of a counter with six
// decimals on 10 MHz, warming up and noisy (sum of four uniform numbers from
// splitmix64, about 6 mHz).
func write(file string, n int) error {
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	put := func(v float64) {
		var b [8]byte
		binary.LittleEndian.PutUint64(b[:], math.Float64bits(v))
		w.Write(b[:]) // a failure is kept and reported by Flush
	}
	for i := range n {
		put(float64(i))
	}
	var state uint64 = 19470301
	uniform := func() float64 {
		state += 0x9e3779b97f4a7c15
		z := (state ^ state>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return float64((z^z>>31)>>11)/(1<<53) - 0.5
	}
	for i := range n {
		noise := 0.01 * (uniform() + uniform() + uniform() + uniform())
		put(math.Round((1e7+40*math.Exp(-float64(i)/9000)+noise)*1e6) / 1e6)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.Close()
}

// load reads what write wrote.
func load(file string) (run.Series, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return run.Series{}, err
	}
	values := make([]float64, len(data)/8)
	for i := range values {
		values[i] = math.Float64frombits(binary.LittleEndian.Uint64(data[8*i:]))
	}
	n := len(values) / 2
	return series(values[:n], values[n:]), nil
}

func series(time, frequency []float64) run.Series {
	return run.Series{Columns: []run.Column{
		{Role: "time", Unit: "s", Values: time},
		{Role: "frequency", Unit: "Hz", Values: frequency, Resolution: 1e-6},
	}}
}

// book makes a new book with an invented set to hang the run on.
func book(dir string) (*store.Book, run.Run, error) {
	ctx := context.Background()
	r := run.Run{ID: "drift-1", StateID: "spring", Measurement: "drift", Started: time.Unix(0, 0)}
	b, err := store.Open(ctx, dir, store.Options{Create: true})
	if err != nil {
		return nil, r, err
	}
	if err := b.AddSet(ctx, receiver.Set{ID: "turnstone", Name: "Turnstone", Invented: true}); err != nil {
		return nil, r, err
	}
	if err := b.AddConfiguration(ctx, receiver.Configuration{ID: "as-found", SetID: "turnstone"}); err != nil {
		return nil, r, err
	}
	return b, r, b.AddState(ctx, receiver.State{ID: "spring", SetID: "turnstone", ConfigurationID: "as-found"})
}

func insert(file, dir string) error {
	s, err := load(file)
	if err != nil {
		return err
	}
	b, r, err := book(dir)
	if err != nil {
		return err
	}
	if err := b.AddRun(context.Background(), r, s); err != nil {
		return err
	}
	if err := b.Close(); err != nil {
		return err
	}
	return size(dir, s.Len())
}

// size prints the bytes a reading takes, all else in the book included.
func size(dir string, n int) error {
	info, err := os.Stat(filepath.Join(dir, "book.db"))
	if err != nil {
		return err
	}
	fmt.Printf("%d bytes, %.2f a reading\n", info.Size(), float64(info.Size())/float64(n))
	return nil
}

func live(file, dir string) error {
	ctx := context.Background()
	s, err := load(file)
	if err != nil {
		return err
	}
	b, r, err := book(dir)
	if err != nil {
		return err
	}
	if err := b.OpenRun(ctx, r); err != nil {
		return err
	}
	step := s.Len() / transactions
	for from := 0; from+step <= s.Len(); from += step {
		part := series(s.Columns[0].Values[from:from+step], s.Columns[1].Values[from:from+step])
		if err := b.AppendReadings(ctx, r.ID, part); err != nil {
			return err
		}
	}
	return b.Close()
}

func read(dir string) error {
	ctx := context.Background()
	b, err := store.Open(ctx, dir, store.Options{ReadOnly: true})
	if err != nil {
		return err
	}
	s, err := b.Series(ctx, "drift-1")
	if err != nil {
		return err
	}
	fmt.Println(s.Len(), "readings")
	if os.Getenv("DIGEST") != "" { // to compare with the other side; not timed
		for _, c := range s.Columns {
			h := sha256.New()
			for _, v := range c.Values {
				_ = binary.Write(h, binary.LittleEndian, v)
			}
			fmt.Printf("%s %x\n", c.Role, h.Sum(nil))
		}
	}
	return b.Close()
}
