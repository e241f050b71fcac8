package store

import (
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
)

// smallDisk mounts a file system of a given size in memory, or skips the test
// where that is not permitted.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size="+size); err != nil {
		t.Skipf("no file system can be mounted here (%v): a full disk was not tried", err)
	}
	t.Cleanup(func() { syscall.Unmount(dir, syscall.MNT_DETACH) })
	return dir
}

// TestFolderOfAnotherUser: a person who may read the folder but not write it
// can read the book and is told why it cannot be opened for writing. Run by
// root, the other program runs as a user without rights.
func TestFolderOfAnotherUser(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only root can start a program as another user: a folder without write permission was not tried")
	}
	dir := bookWith(t)
	self, err := os.Executable()
	must(t, err)
	program := filepath.Join(filepath.Dir(dir), "program")
	data, err := os.ReadFile(self)
	must(t, err)
	must(t, os.WriteFile(program, data, 0o755))
	for d := filepath.Dir(dir); d != filepath.Dir(d) && d != os.TempDir(); d = filepath.Dir(d) {
		must(t, os.Chmod(d, 0o755))
	}
	before := fingerprint(t, dir)
	for what, want := range map[string]string{
		"read": "readings 4\n",
		"type": "error: the book in " + dir + " cannot be written: open it for reading only",
	} {
		cmd := exec.Command(program)
		cmd.Dir = "/"
		cmd.Env = []string{helperEnv + "=" + what, folderEnv + "=" + dir}
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		out, _ := cmd.CombinedOutput()
		if got := string(out); len(got) < len(want) || got[:len(want)] != want {
			t.Errorf("%s: the other program said %q, expected %q", what, got, want)
		}
	}
	if fingerprint(t, dir) != before {
		t.Error("the folder was changed")
	}
}

// TestReadOnlyMedium reads a book on a disk that cannot be written at all.
func TestReadOnlyMedium(t *testing.T) {
	disk := smallDisk(t, "4m")
	dir := filepath.Join(disk, "book")
	b := openBook(t, dir, Options{Create: true})
	furnish(t, b)
	must(t, b.AddRun(ctx, driftRun("before"), glances()))
	must(t, b.Close())
	if err := syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Skipf("the file system cannot be made read-only (%v): a read-only medium was not tried", err)
	}
	b = openBook(t, dir, Options{ReadOnly: true})
	wantSeries(t, b, "before", glances())
	must(t, b.Close())
	_, err := Open(ctx, dir, Options{})
	wantKind(t, err, ErrReadOnly, "cannot be written")
}
