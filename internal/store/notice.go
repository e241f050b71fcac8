package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

const noticePrefix = "book.open-"

// announce leaves a file that says who has the book open for writing. The file
// is for messages only, but where it may not be written the book may not
// either, and that is said here.
func (b *Book) announce() error {
	host, _ := os.Hostname()
	text := fmt.Sprintf("process %d on %s, since %s", os.Getpid(), host, time.Now().Format("2 January 15:04"))
	path := filepath.Join(b.dir, noticePrefix+strconv.Itoa(os.Getpid()))
	err := os.WriteFile(path, []byte(text), 0o644)
	if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) {
		return failBy(err, ErrReadOnly, "the book in %s cannot be written: open it for reading only, or copy the folder to where you may write", b.dir)
	}
	if err == nil {
		b.notice = path
	}
	for _, old := range b.notices() {
		if !b.alive(old) {
			_ = os.Remove(old)
		}
	}
	return nil
}

// withdraw removes our notice.
func (b *Book) withdraw() {
	if b.notice != "" {
		_ = os.Remove(b.notice)
	}
}

// notices returns the notices of others.
func (b *Book) notices() []string {
	all, _ := filepath.Glob(filepath.Join(escapeGlob(b.dir), noticePrefix+"*"))
	var out []string
	for _, path := range all {
		if path != b.notice {
			out = append(out, path)
		}
	}
	return out
}

// alive says whether a notice may be of a running program: one of another
// computer always may.
func (b *Book) alive(notice string) bool {
	pid, err := strconv.Atoi(strings.TrimPrefix(filepath.Base(notice), noticePrefix))
	if err != nil {
		return false
	}
	text, _ := os.ReadFile(notice)
	host, _ := os.Hostname()
	if !strings.Contains(string(text), " on "+host+",") {
		return true
	}
	return processAlive(pid)
}

// others says in words who else has the book open.
func (b *Book) others() string {
	var who []string
	for _, path := range b.notices() {
		if text, err := os.ReadFile(path); err == nil && b.alive(path) {
			who = append(who, string(text))
		}
	}
	if len(who) == 0 {
		return "it left no name"
	}
	return "open in " + strings.Join(who, "; ")
}

// escapeGlob protects the signs that mean something in a pattern.
func escapeGlob(s string) string {
	if os.PathSeparator == '\\' {
		return s
	}
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(s)
}
