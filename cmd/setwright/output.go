package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"github.com/spf13/cobra"
)

// watched is standard output. Once it cannot be written any more (a full disk,
// a reader that went away) it stops the work, which nobody would see.
type watched struct {
	w    io.Writer
	stop context.CancelFunc
	err  error
}

func (o *watched) Write(p []byte) (int, error) {
	if o.err != nil {
		return 0, o.err
	}
	n, err := o.w.Write(p)
	if err != nil {
		o.err = err
		o.stop()
	}
	return n, err
}

// readerLeft says that whoever read the output has had enough, as "head" does:
// nothing to complain about.
func (o *watched) readerLeft() bool { return errors.Is(o.err, syscall.EPIPE) }

// outFile is a file to be written.
type outFile struct {
	name  string
	write func(io.Writer) error
}

// writeWhole writes files, all of them whole or none: each under a passing name
// beside its place, and only then moved there. What is no plain file (a pipe, a
// device) is written to as it is.
func writeWhole(files ...outFile) error {
	var ready []placing
	defer func() {
		for _, p := range ready {
			_ = os.Remove(p.temp)
		}
	}()
	for _, f := range files {
		p, err := prepare(f)
		if err != nil {
			return cannotWrite(f.name, err)
		}
		if p.temp != "" {
			ready = append(ready, p)
		}
	}
	for _, p := range ready {
		if err := os.Rename(p.temp, p.place); err != nil {
			return cannotWrite(p.place, err)
		}
	}
	return nil
}

// placing is a written file and where it is to go.
type placing struct{ temp, place string }

// prepare writes a file under a passing name.
func prepare(f outFile) (placing, error) {
	place, mode := f.name, fs.FileMode(0o666)
	info, err := os.Stat(f.name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return placing{}, err
	case info.IsDir():
		return placing{}, errors.New("it is a folder; name a file in it")
	default:
		old, err := os.OpenFile(f.name, os.O_WRONLY, 0)
		if err != nil {
			return placing{}, err
		}
		defer old.Close()
		if !info.Mode().IsRegular() {
			return placing{}, f.write(old)
		}
		if place, err = filepath.EvalSymlinks(f.name); err != nil {
			return placing{}, err
		}
		mode = info.Mode().Perm()
	}
	temp := filepath.Join(filepath.Dir(place), ".setwright-"+rand.Text())
	out, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return placing{}, err
	}
	buffered := bufio.NewWriterSize(out, 1<<16)
	if err = f.write(buffered); err == nil {
		err = errors.Join(buffered.Flush(), out.Sync())
	}
	if err = errors.Join(err, out.Close()); err != nil {
		_ = os.Remove(temp)
		return placing{}, err
	}
	return placing{temp, place}, nil
}

// cannotWrite says in plain words why a file was not written.
func cannotWrite(name string, err error) error {
	var path *fs.PathError
	folder := filepath.Dir(name)
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return fmt.Errorf("cannot write %s: the disk is full; nothing was written, make room or name a file on another disk", name)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fmt.Errorf("cannot write %s: you may not write there; nothing was written, name a file in a folder of your own", name)
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("cannot write %s: there is no folder %s; make it first, or name another", name, folder)
	case errors.As(err, &path):
		return fmt.Errorf("cannot write %s: %w", name, path.Err)
	}
	return fmt.Errorf("cannot write %s: %w", name, err)
}

// writeTo writes a file whole, or to standard output where none is named.
func writeTo(cmd *cobra.Command, name string, write func(io.Writer) error) error {
	if name == "" {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return err
		}
		_, err := b.WriteTo(cmd.OutOrStdout())
		return err
	}
	if err := writeWhole(outFile{name, write}); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "Written to %s.\n", name)
	return nil
}
