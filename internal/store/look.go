package store

import (
	"encoding/binary"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// applicationID marks a book in the heading of its database (bytes "Swrt").
const applicationID = 0x53777274

// heading is what the first hundred bytes of an SQLite file say (SQLite file
// format, section 1.3: user version at 60, application id at 68).
type heading struct{ application, version uint32 }

// look says whether the folder holds a book, without touching anything.
func (b *Book) look(newest int) (found bool, err error) {
	info, err := os.Stat(b.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, b.explainFile("opening the book", err)
	}
	if !info.IsDir() {
		return false, fail(ErrStranger, "%s is a file, and a book is a folder", b.dir)
	}
	h, err := readHeading(filepath.Join(b.dir, dbName))
	if errors.Is(err, fs.ErrNotExist) {
		return false, b.onlyOurs()
	}
	if err != nil {
		return false, err
	}
	if h.application != applicationID {
		return false, fail(ErrStranger, "%s is a database of another program (application id %08x, expected %08x); it was left as it is",
			filepath.Join(b.dir, dbName), h.application, uint32(applicationID))
	}
	if int(h.version) > newest {
		return false, b.newer(int(h.version), newest)
	}
	return true, nil
}

func (b *Book) newer(version, newest int) error {
	return fail(ErrNewer, "the book in %s is of version %d and this program knows versions up to %d; it was left as it is, open it with the newer program", b.dir, version, newest)
}

// readHeading reads the heading of an SQLite file.
func readHeading(path string) (heading, error) {
	f, err := os.Open(path)
	if err != nil {
		return heading{}, err
	}
	defer f.Close()
	var first [100]byte
	if _, err := io.ReadFull(f, first[:]); err != nil || string(first[:16]) != "SQLite format 3\x00" {
		return heading{}, fail(ErrStranger, "%s is no SQLite database, or a damaged one; it was left as it is", path)
	}
	return heading{
		application: binary.BigEndian.Uint32(first[68:]),
		version:     binary.BigEndian.Uint32(first[60:]),
	}, nil
}

// onlyOurs refuses a folder without a book that holds other things: a book
// gets a folder of its own.
func (b *Book) onlyOurs() error {
	entries, err := os.ReadDir(b.dir)
	if err != nil {
		return b.explainFile("opening the book", err)
	}
	for _, e := range entries {
		name := e.Name()
		leftover := strings.HasPrefix(name, dbName+".new") || strings.HasPrefix(name, noticePrefix) || name == recordingsName
		furniture := strings.HasPrefix(name, ".") || name == "lost+found" || name == "desktop.ini" || name == "Thumbs.db"
		if !leftover && !furniture {
			return fail(ErrStranger, "the folder %s is no book and holds other things (%s): give the book an empty folder of its own", b.dir, name)
		}
	}
	return nil
}
