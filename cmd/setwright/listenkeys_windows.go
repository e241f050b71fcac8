package main

import (
	"os"

	"golang.org/x/sys/windows"
)

// singleKeys turns off lines and echo; Ctrl-C stays what it is.
func singleKeys(f *os.File) (undo func(), err error) {
	h := windows.Handle(f.Fd())
	var before uint32
	if err := windows.GetConsoleMode(h, &before); err != nil {
		return nil, err
	}
	if err := windows.SetConsoleMode(h, before&^(windows.ENABLE_LINE_INPUT|windows.ENABLE_ECHO_INPUT)); err != nil {
		return nil, err
	}
	return func() { _ = windows.SetConsoleMode(h, before) }, nil
}

// isKeyboard says whether a file is a console, and no other device.
func isKeyboard(f *os.File) bool {
	var mode uint32
	return windows.GetConsoleMode(windows.Handle(f.Fd()), &mode) == nil
}
