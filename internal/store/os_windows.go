package store

import (
	"errors"
	"io"
	"os"
	"syscall"
)

// sharingViolation is ERROR_SHARING_VIOLATION.
const sharingViolation = syscall.Errno(32)

// lockFile locks a file, which it makes, until it is closed or the program
// ends: nobody else can open it. errLocked where another has.
func lockFile(path string) (io.Closer, error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	h, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE, 0, nil, syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	if errors.Is(err, sharingViolation) {
		return nil, errLocked
	}
	if err != nil {
		return nil, &os.PathError{Op: "lock", Path: path, Err: err}
	}
	return os.NewFile(uintptr(h), path), nil
}

// processAlive cannot be told here, so a process may always be alive.
func processAlive(int) bool { return true }

// outOfSpace says whether an error means that the disk is full
// (ERROR_HANDLE_DISK_FULL, ERROR_DISK_FULL).
func outOfSpace(err error) bool {
	return errors.Is(err, syscall.Errno(39)) || errors.Is(err, syscall.Errno(112))
}
