//go:build unix

package store

import (
	"errors"
	"io"
	"os"
	"syscall"
)

// lockFile locks a file, which it makes, until it is closed or the program
// ends. errLocked where another holds it.
func lockFile(path string) (io.Closer, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if errors.Is(err, syscall.EROFS) || errors.Is(err, syscall.EACCES) {
		f, err = os.Open(path)
	}
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if err == nil {
		return f, nil
	}
	if errors.Is(err, syscall.EWOULDBLOCK) {
		err = errLocked
	}
	return nil, errors.Join(err, f.Close())
}

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
