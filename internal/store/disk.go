package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
	"syscall"
)

// explainFile turns an error of a file into one of ours.
func (b *Book) explainFile(doing string, err error) error {
	switch {
	case err == nil:
		return nil
	case outOfSpace(err):
		return failBy(err, ErrDiskFull, "%s: the disk that holds %s is full; nothing of it was stored, make room and do it again", doing, b.dir)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return failBy(err, ErrReadOnly, "%s: %s cannot be written", doing, b.dir)
	}
	return fmt.Errorf("%s in %s: %w", doing, b.dir, err)
}

// errLocked says that another program, or another part of this one, holds the
// lock of a file.
var errLocked = errors.New("locked by another")

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncDir makes new names in a folder durable. Windows has no such call and
// does it by itself.
func syncDir(path string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
