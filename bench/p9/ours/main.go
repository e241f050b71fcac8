// Command ours is this project's side of workload P9: import of a long log of
// time, frequency and temperature, every line checked.
//
//	ours -make FILE -n N    writes the log, N lines under a heading
//	ours FILE               imports it and prints sums and extremes as JSON
package main

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"

	"setwright/internal/intake"
)

func main() {
	makeFile := flag.String("make", "", "write a log to this file and stop")
	n := flag.Int("n", 1_000_000, "number of lines")
	flag.Parse()
	var err error
	if *makeFile != "" {
		err = write(*makeFile, *n)
	} else {
		err = read(flag.Arg(0))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// write makes an invented log: a warm-up with noise from a fixed seed
// (splitmix64).
func write(file string, n int) error {
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	var state uint64 = 19391945
	uniform := func() float64 {
		state += 0x9e3779b97f4a7c15
		z := (state ^ state>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return float64((z^z>>31)>>11)/(1<<53) - 0.5
	}
	fmt.Fprintln(w, "time (s),frequency (Hz),ambient (°C)")
	for i := range n {
		t := float64(i)
		fmt.Fprintf(w, "%.1f,%.6f,%.2f\n", t, 7520100+800*(1-math.Exp(-t/1500))+uniform(), 19+math.Sin(t/9000)+0.1*uniform())
	}
	if err := w.Flush(); err != nil { // also tells of failed writes before it
		return err
	}
	return f.Close()
}

// sums is what both sides print: by column the sum, the smallest, the largest
// and the last value.
type sums struct {
	Rows    int           `json:"rows"`
	Columns [3][4]float64 `json:"columns"`
}

func read(file string) error {
	src, err := intake.FileSource(file)
	if err != nil {
		return err
	}
	wanted := []intake.ColumnSpec{intake.TimeColumn(), intake.FrequencyColumn("frequency", "frequency"),
		intake.TemperatureColumn("ambient", "ambient temperature")}
	p, err := intake.Inspect(src, wanted, intake.Override{})
	if err != nil {
		return err
	}
	var out sums
	for i := range out.Columns {
		out.Columns[i][1], out.Columns[i][2] = math.Inf(1), math.Inf(-1)
	}
	rep, err := intake.Read(context.Background(), src, p.Layout, func(b *intake.Batch) error {
		for i, column := range [][]float64{b.Time, b.Columns[0], b.Columns[1]} {
			c := &out.Columns[i]
			for _, v := range column {
				c[0] += v
				c[1], c[2], c[3] = min(c[1], v), max(c[2], v), v
			}
		}
		return nil
	}, nil)
	if err != nil {
		return err
	}
	out.Rows = rep.Rows
	return json.NewEncoder(os.Stdout).Encode(out)
}
