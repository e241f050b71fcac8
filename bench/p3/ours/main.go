// Command ours is this project's side of workload P3: the mean spectrum of a
// long recording.
//
//	ours FILE.wav    prints the density of every bin as JSON
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"

	"setwright/recording"
	"setwright/signal"
)

func main() {
	if err := spectrum(os.Args[len(os.Args)-1]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func spectrum(file string) error {
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
	s, err := signal.Welch(context.Background(), r, signal.SpectrumOptions{}, nil)
	if err != nil {
		return err
	}
	return json.NewEncoder(os.Stdout).Encode(map[string]any{"segments": s.Segments, "density": s.Density})
}
