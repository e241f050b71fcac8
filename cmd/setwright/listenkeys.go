package main

import (
	"io"
	"os"
	"runtime"

	"github.com/spf13/cobra"

	"setwright/internal/workshop"
)

// watchKeys takes single keys while sound is recorded: space and Enter mark, q
// stops. Where standard input brings the sound, keys come from the terminal
// itself, if there is one. It returns what gives the terminal back.
func watchKeys(cmd *cobra.Command, l *workshop.Listening, raw bool, stop func()) (done func()) {
	from, done := keysFrom(cmd.InOrStdin(), raw)
	if from == nil {
		return done
	}
	go func() {
		buf := make([]byte, 16)
		for {
			n, err := from.Read(buf)
			for _, key := range buf[:n] {
				switch key {
				case ' ', '\n', '\r':
					_, _ = l.Mark("") // after the end there is nothing to mark
				case 'q', 'Q', 3, 4: // Ctrl-C and Ctrl-D, where they come as keys
					stop()
				}
			}
			if err != nil {
				return
			}
		}
	}()
	return done
}

// keysFrom is where keys are typed, nil where they cannot be.
func keysFrom(stdin io.Reader, raw bool) (io.Reader, func()) {
	nothing := func() {}
	if !raw {
		f, ok := stdin.(*os.File)
		if !ok {
			return stdin, nothing
		}
		return f, singleKeysOf(f)
	}
	name := "/dev/tty"
	if runtime.GOOS == "windows" {
		name = "CONIN$"
	}
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return nil, nothing
	}
	return f, singleKeysOf(f)
}

// singleKeysOf makes a terminal give each key at once, and returns what undoes
// that. What is no terminal gives lines.
func singleKeysOf(f *os.File) func() {
	undo, err := singleKeys(f)
	if err != nil {
		return func() {}
	}
	return undo
}
