//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package main

import (
	"os"

	"golang.org/x/sys/unix"
)

// singleKeys turns off lines and echo; Ctrl-C stays what it is.
func singleKeys(f *os.File) (undo func(), err error) {
	fd := int(f.Fd())
	before, err := unix.IoctlGetTermios(fd, getTerminal)
	if err != nil {
		return nil, err
	}
	keys := *before
	keys.Lflag &^= unix.ICANON | unix.ECHO
	keys.Cc[unix.VMIN], keys.Cc[unix.VTIME] = 1, 0
	if err := unix.IoctlSetTermios(fd, setTerminal, &keys); err != nil {
		return nil, err
	}
	return func() { _ = unix.IoctlSetTermios(fd, setTerminal, before) }, nil
}

// isKeyboard says whether a file is a terminal, and no other device.
func isKeyboard(f *os.File) bool {
	_, err := unix.IoctlGetTermios(int(f.Fd()), getTerminal)
	return err == nil
}
