//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
)

// peakMiB is the largest resident set that the system saw. Linux starts the
// count of a new process at the size of the one that started it, so nothing
// below this program's own few MiB can be told.
func peakMiB(s *os.ProcessState) float64 {
	r, ok := s.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	if runtime.GOOS == "darwin" { // bytes there, KiB elsewhere
		return float64(r.Maxrss) / (1 << 20)
	}
	return float64(r.Maxrss) / (1 << 10)
}
