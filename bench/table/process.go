package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"time"
)

// process is a command to be measured.
type process struct {
	args  []string
	env   []string // nil: this process's own
	fresh string   // file or folder that is removed before it runs
	save  string   // file that standard output goes to
}

// usage is what one run of a process took.
type usage struct {
	cpu, wall time.Duration // cpu: user and system, all threads
	peak      float64       // largest resident set, MiB
}

// measure runs a process to its end. An error carries what it said.
func (p process) measure() (usage, error) {
	if p.fresh != "" {
		if err := os.RemoveAll(p.fresh); err != nil {
			return usage{}, err
		}
		os.Remove(p.fresh + "-wal") // leavings of a run that was interrupted
		os.Remove(p.fresh + "-shm")
	}
	out, err := os.Create(p.save)
	if err != nil {
		return usage{}, err
	}
	defer out.Close()
	var complaint bytes.Buffer
	cmd := exec.Command(p.args[0], p.args[1:]...)
	cmd.Env, cmd.Stdout, cmd.Stderr = p.env, out, &complaint
	start := time.Now()
	err = cmd.Run()
	wall := time.Since(start)
	if err != nil {
		return usage{}, fmt.Errorf("%s: %v: %s", strings.Join(p.args, " "), err, strings.TrimSpace(complaint.String()))
	}
	s := cmd.ProcessState
	return usage{cpu: s.UserTime() + s.SystemTime(), wall: wall, peak: peakMiB(s)}, nil
}
