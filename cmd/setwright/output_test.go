package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestFilesAreReplacedWhole: an existing picture is replaced, with its
// permissions, also where a link leads to it; a failure leaves it as it was.
func TestFilesAreReplacedWhole(t *testing.T) {
	dir := t.TempDir()
	log := writeFile(t, dir, "log.csv", "t_s,f_hz\n0,7065300\n60,7065400\n120,7065450\n")
	picture := writeFile(t, dir, "p.svg", "an older picture")
	if err := os.Chmod(picture, 0o600); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link.svg")
	if err := os.Symlink(picture, link); err != nil {
		link = picture // not everywhere are there links
	}
	reader, err := os.Open(picture) // who reads the old one goes on reading it
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	done(t, "analyse", "drift", log, "--plot", link)
	if old, err := io.ReadAll(reader); err != nil || string(old) != "an older picture" {
		t.Errorf("the old picture reads %q, %v", old, err)
	}
	data, err := os.ReadFile(picture)
	if err != nil || !strings.HasSuffix(strings.TrimSpace(string(data)), "</svg>") {
		t.Errorf("the new picture: %d bytes, %v", len(data), err)
	}
	if info, err := os.Lstat(picture); err != nil || info.Mode() != 0o600 {
		t.Errorf("its mode: %v, %v", info.Mode(), err)
	}
	s := typed(t, "", "analyse", "drift", filepath.Join(dir, "lost.csv"), "--plot", picture)
	if now, err := os.ReadFile(picture); s.status != exitData || err != nil || string(now) != string(data) {
		t.Errorf("after a failure: status %d, %d bytes, %v", s.status, len(now), err)
	}
	s = typed(t, "", "report", "turnstone", "-o", dir, "--book", bookOfOne(t))
	if s.status != exitData || s.err != "setwright: cannot write "+dir+": it is a folder; name a file in it\n" {
		t.Errorf("into a folder: status %d, said %s", s.status, s.err)
	}
}

// TestSeveralFilesWholeOrNone: of two files the second cannot be made, so the
// first is not written either.
func TestSeveralFilesWholeOrNone(t *testing.T) {
	dir := t.TempDir()
	fine := outFile{filepath.Join(dir, "a"), func(w io.Writer) error { _, err := io.WriteString(w, "whole"); return err }}
	broken := outFile{filepath.Join(dir, "b"), func(w io.Writer) error {
		_, _ = io.WriteString(w, "half")
		return errors.New("no more ink")
	}}
	if err := writeWhole(fine, broken); err == nil || !strings.HasSuffix(err.Error(), "b: no more ink") {
		t.Errorf("said %v", err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left lying: %v, %v", left, err)
	}
	if err := writeWhole(fine); err != nil {
		t.Error(err)
	}
	if data, err := os.ReadFile(fine.name); err != nil || string(data) != "whole" {
		t.Errorf("%q, %v", data, err)
	}
}
