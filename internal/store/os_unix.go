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

// outOfSpace says whether an error means that the disk, or the user's share of
// it, is full.
func outOfSpace(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}
