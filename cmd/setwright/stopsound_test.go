package main

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"
	"time"

	"setwright/internal/workshop/shoptest"
)

// hoursOfSound is a recording of so many hours at 8 kHz that takes hardly any
// room: ten seconds of a tone, and zeros where the system stores none.
func hoursOfSound(t *testing.T, hours int) string {
	t.Helper()
	head := []byte(shoptest.Recorded(10, 0.3, 0.01))
	size := uint32(2 * 8000 * 3600 * hours)
	binary.LittleEndian.PutUint32(head[4:], 36+size)
	binary.LittleEndian.PutUint32(head[40:], size)
	path := writeFile(t, t.TempDir(), "hours.wav", string(head))
	if err := os.Truncate(path, int64(44+size)); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestInterruptedSound: Ctrl-C while a day of sound is analysed, or hours are
// imported, ends it with one message and leaves nothing.
func TestInterruptedSound(t *testing.T) {
	const stopped = "setwright: stopped; nothing was left half done\n"
	day := hoursOfSound(t, 24)
	for _, kind := range []string{"drift", "audio"} {
		picture := filepath.Join(t.TempDir(), "p.svg")
		p := start(t, "analyse", kind, day, "--plot", picture)
		time.Sleep(500 * time.Millisecond)
		interrupt(t, p)
		switch s := p.ended(t); {
		case s.status == -1:
			t.Skip("Ctrl-C came before the program had begun: stopping was not tried")
		case s.status != exitData || s.err != stopped || s.out != "":
			t.Errorf("%s: status %d, said %s%s", kind, s.status, s.err, s.out)
		}
		if left, _ := os.ReadDir(filepath.Dir(picture)); len(left) > 0 {
			t.Errorf("left lying: %v", left)
		}
	}
	book := bookOfOne(t)
	p := importing(t, book, hoursOfSound(t, 3))
	interrupt(t, p)
	if s := p.ended(t); s.status != exitData || s.err != stopped || s.out != "" {
		t.Errorf("status %d, said %s%s", s.status, s.err, s.out)
	}
	if got := keptIn(t, book); got != (kept{}) {
		t.Errorf("the book holds %+v", got)
	}
}
