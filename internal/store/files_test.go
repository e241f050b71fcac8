package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"
)

func TestFilesAreKeptAsGiven(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	data := bytes.Repeat([]byte("0,7065900\r\n"), 20000)
	sum, size, err := b.PutFile(ctx, iotest.HalfReader(bytes.NewReader(data)))
	must(t, err)
	want := sha256.Sum256(data)
	if sum != hex.EncodeToString(want[:]) || size != int64(len(data)) {
		t.Errorf("stored as %s of %d bytes", sum, size)
	}
	again, _, err := b.PutFile(ctx, bytes.NewReader(data))
	if err != nil || again != sum {
		t.Errorf("the second time: %s, %v", again, err)
	}
	r := driftRun("drift-1")
	r.Origin.SHA256, r.Origin.Name = sum, "cold morning.csv"
	must(t, b.AddRun(ctx, r, glances()))
	files, err := b.Files(ctx, "drift-1")
	if err != nil || len(files) != 1 || files[0] != (File{sum, size, "cold morning.csv"}) {
		t.Errorf("files %+v, %v", files, err)
	}
	f, err := b.OpenFile(ctx, sum)
	must(t, err)
	got, err := io.ReadAll(f)
	must(t, err)
	must(t, f.Close())
	if !bytes.Equal(got, data) {
		t.Error("the file came back otherwise")
	}
	_, err = b.OpenFile(ctx, strings.Repeat("0", 64))
	wantKind(t, err, ErrNotFound)
}

func TestDamagedFileIsReported(t *testing.T) {
	for name, damage := range map[string]func(path string) error{
		"a bit turned": func(path string) error {
			data, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			data[len(data)/2] ^= 1
			return os.WriteFile(path, data, 0o644)
		},
		"cut short": func(path string) error { return os.Truncate(path, 100) },
		"deleted":   os.Remove,
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(t)
			data := bytes.Repeat([]byte{1, 2, 3}, 1000)
			sum, _, err := b.PutFile(ctx, bytes.NewReader(data))
			must(t, err)
			must(t, b.VerifyFile(ctx, sum))
			must(t, damage(b.filePath(sum)))
			wantKind(t, b.VerifyFile(ctx, sum), ErrDamaged, sum)
			report, err := b.Verify(ctx)
			must(t, err)
			if len(report.Problems) != 1 || !strings.Contains(report.Problems[0], sum) {
				t.Errorf("verify found %v", report.Problems)
			}
			// Giving the file again makes it whole.
			_, _, err = b.PutFile(ctx, bytes.NewReader(data))
			must(t, err)
			must(t, b.VerifyFile(ctx, sum))
		})
	}
}

func TestFileThatEndsInAnError(t *testing.T) {
	b := newBook(t)
	pulled := errors.New("the stick was pulled out")
	_, _, err := b.PutFile(ctx, io.MultiReader(strings.NewReader("half"), iotest.ErrReader(pulled)))
	if !errors.Is(err, pulled) {
		t.Errorf("got %v", err)
	}
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	if _, _, err := b.PutFile(stopped, strings.NewReader("x")); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	if left, err := os.ReadDir(b.dir + "/" + recordingsName); err != nil || len(left) > 0 {
		t.Errorf("left over: %v, %v", left, err)
	}
}

func TestFilesNoRunHasAreSwept(t *testing.T) {
	b := newBook(t)
	furnish(t, b)
	var sums []string
	for _, s := range []string{"of a run", "wanted", "given up"} {
		sum, _, err := b.PutFile(ctx, strings.NewReader(s))
		must(t, err)
		sums = append(sums, sum)
	}
	// Put within what was given up, a day ago: the book does not know it.
	var unknown string
	_ = b.Together(ctx, "importing", func(ctx context.Context) (err error) {
		unknown, _, err = b.PutFile(ctx, strings.NewReader("unknown"))
		must(t, err)
		return errors.New("given up")
	})
	must(t, b.AddRun(ctx, driftRun("r"), glances()))
	must(t, b.AttachFile(ctx, "r", sums[0], "recording.wav"))
	n, err := b.SweepFiles(ctx, func(sum string) bool { return sum == sums[1] })
	if err != nil || n != 1 {
		t.Errorf("swept %d, %v", n, err)
	}
	old := time.Now().Add(-2 * abandoned)
	must(t, os.Chtimes(b.filePath(unknown), old, old))
	if n, err := b.SweepFiles(ctx, func(string) bool { return true }); err != nil || n != 1 {
		t.Errorf("swept %d unknown, %v", n, err)
	}
	if _, err := os.Stat(b.filePath(unknown)); err == nil {
		t.Error("the unknown file is still there")
	}
	must(t, b.VerifyFile(ctx, sums[0]))
	must(t, b.VerifyFile(ctx, sums[1]))
	wantKind(t, b.VerifyFile(ctx, sums[2]), ErrNotFound)
}
