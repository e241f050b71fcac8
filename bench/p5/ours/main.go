// Command ours is this project's side of workload P5: loudness of a long
// recording.
//
//	ours [-peak] FILE.wav    prints integrated loudness and range, and true peak, as JSON
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"

	"setwright/recording"
	"setwright/signal"
)

func main() {
	peak := flag.Bool("peak", false, "true peak too")
	flag.Parse()
	if err := loudness(flag.Arg(0), *peak); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func loudness(file string, peak bool) error {
	f, err := os.Open(file)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	r, err := recording.Open(file, f, info.Size())
	if err != nil {
		return err
	}
	defer r.Close()
	l, err := signal.MeasureLoudness(context.Background(), r, signal.LoudnessOptions{TruePeak: peak}, nil)
	if err != nil {
		return err
	}
	out := map[string]float64{"integrated": l.Integrated, "range": l.Range}
	if peak {
		out["true_peak"] = l.TruePeakDB
	}
	return json.NewEncoder(os.Stdout).Encode(out)
}
