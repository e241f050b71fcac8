package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
)

// decodeFLAC is P6. Both sides write what they decode: the tool to its standard
// output, for with -o it copies its input's mode onto the file.
func (m makeFiles) decodeFLAC() workload {
	wav, flac := m.file("hour.wav"), m.file("hour.flac")
	w := workload{
		id: "P6", title: "FLAC decode of an hour of 48 kHz, 16 bit, one channel, checksums and digest verified, samples written",
		tool: "flac -d", program: "flac", packages: []string{"flac"},
		input:  []string{m.file("hour"), "-flac", flac, wav},
		ours:   m.ours("P6", "p6", flac),
		theirs: process{args: []string{"flac", "--silent", "--decode", "--stdout", flac}},
		aims:   []aim{{cpuRatio, 2}, {wallRatio, 1.2}, {peakMemory, 0}},
	}
	w.ours.save, w.theirs.save = m.file("P6-ours.wav"), m.file("P6-tool.wav")
	w.agree = func() (string, error) { return sameSamples(w.ours.save, w.theirs.save, wav) }
	return w
}

// sameSamples compares everything behind the headers of WAV files byte by byte.
func sameSamples(files ...string) (string, error) {
	var bodies []io.Reader
	var size int64
	for i, name := range files {
		f, err := os.Open(name)
		if err != nil {
			return "", err
		}
		defer f.Close()
		n, err := toSamples(f)
		if err != nil {
			return "", fmt.Errorf("%s: %w", name, err)
		}
		if i > 0 && n != size {
			return "", fmt.Errorf("%s has %d bytes of samples, %s has %d", name, n, files[0], size)
		}
		bodies, size = append(bodies, f), n
	}
	first, other := make([]byte, 1<<20), make([]byte, 1<<20)
	for at := int64(0); at < size; at += int64(len(first)) {
		n := min(int64(len(first)), size-at)
		if _, err := io.ReadFull(bodies[0], first[:n]); err != nil {
			return "", err
		}
		for i, b := range bodies[1:] {
			if _, err := io.ReadFull(b, other[:n]); err != nil {
				return "", err
			}
			if !bytes.Equal(first[:n], other[:n]) {
				return "", fmt.Errorf("%s and %s differ within a MiB of byte %d of their samples", files[0], files[i+1], at)
			}
		}
	}
	return fmt.Sprintf("%d bytes of samples equal, and equal to those that were encoded", size), nil
}

// toSamples moves to the first sample and returns how many bytes follow.
func toSamples(f *os.File) (int64, error) {
	head := make([]byte, 4096)
	n, err := io.ReadFull(f, head)
	if err != nil && err != io.ErrUnexpectedEOF {
		return 0, err
	}
	at := int64(bytes.Index(head[:n], []byte("data"))) + 8
	if at < 8 {
		return 0, fmt.Errorf("no samples found")
	}
	info, err := f.Stat()
	if err != nil {
		return 0, err
	}
	_, err = f.Seek(at, io.SeekStart)
	return info.Size() - at, err
}
