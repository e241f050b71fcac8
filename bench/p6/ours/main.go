// Command ours is this project's side of workload P6: a FLAC recording decoded
// with every checksum verified, the digest of all samples included.
//
//	ours FILE.flac      writes the samples as a WAV file of 16 bits
package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"setwright/recording"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "ours: expected one FLAC file")
		os.Exit(2)
	}
	if err := decode(os.Args[1], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func decode(file string, out io.Writer) error {
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
	w, err := recording.NewWriter(out, recording.Format{RateHz: r.Rate(), Channels: r.Channels(), Bits: 16})
	if err != nil {
		return err
	}
	if err := copySamples(w, r); err != nil {
		return err
	}
	return w.Close()
}

// copySamples fails where the recording is not whole.
func copySamples(w *recording.Writer, r *recording.Reader) error {
	block := make([]float64, 1<<14)
	for {
		n, err := r.Read(block)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if err := w.Write(block[:n*r.Channels()]); err != nil {
			return err
		}
	}
	if warnings := r.Warnings(); len(warnings) > 0 {
		return fmt.Errorf("%v", warnings)
	}
	return nil
}
