// Command ours is this project's side of workload P4: the frequency of a tone
// in every second of a long recording.
//
//	ours FILE.wav    follows the tone and prints frequencies and uncertainties as JSON
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
	if err := follow(os.Args[len(os.Args)-1]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// result is what is compared.
type result struct {
	Hz []float64 `json:"hz"` // a second each, 0 where lost
	U  []float64 `json:"u"`
}

func follow(file string) error {
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
	track, err := signal.TrackTone(context.Background(), r, signal.TrackOptions{}, nil)
	if err != nil {
		return err
	}
	var out result
	for _, p := range track.Points {
		out.Hz, out.U = append(out.Hz, p.Hz), append(out.U, p.U)
	}
	return json.NewEncoder(os.Stdout).Encode(out)
}
