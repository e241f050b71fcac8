//go:build unix

package store

import (
	"errors"
	"syscall"
)

// processAlive says whether a process of this computer runs.
func processAlive(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}
