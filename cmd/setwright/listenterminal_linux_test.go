package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// screen is a terminal with the program at it.
type screen struct {
	keys *os.File // the side of the person
	mu   sync.Mutex
	text bytes.Buffer
}

// newScreen opens a terminal, or skips the test where there are none.
func newScreen(t *testing.T) (s *screen, far *os.File) {
	t.Helper()
	near, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skipf("no terminal can be made here (%v): keys were not tried", err)
	}
	t.Cleanup(func() { _ = near.Close() })
	fd := int(near.Fd())
	if err := unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0); err != nil {
		t.Skipf("no terminal can be made here (%v): keys were not tried", err)
	}
	n, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	if far, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|syscall.O_NOCTTY, 0); err != nil {
		t.Skipf("the terminal cannot be opened (%v): keys were not tried", err)
	}
	s = &screen{keys: near}
	go func() {
		buf := make([]byte, 4096)
		for {
			n, err := near.Read(buf)
			s.mu.Lock()
			s.text.Write(buf[:n])
			s.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	return s, far
}

// shows waits until the screen has shown a text.
func (s *screen) shows(t *testing.T, want string) {
	t.Helper()
	for end := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		s.mu.Lock()
		all := s.text.String()
		s.mu.Unlock()
		if strings.Contains(all, want) {
			return
		}
		if time.Now().After(end) {
			t.Fatalf("the screen never showed %q; it showed %q", want, all)
		}
	}
}

// TestListenAtATerminal: meters run, space marks without Enter, q stops, and
// the terminal is given back as it was.
func TestListenAtATerminal(t *testing.T) {
	server := ownSoundServer(t)
	dir := bookOfOne(t)
	s, far := newScreen(t)
	before, err := unix.IoctlGetTermios(int(far.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	c := command(t, "bench", "listen", "--server", server, "--state", "turnstone", "--measurement", "agc", "--role", "step", "--book", dir)
	c.Stdin, c.Stdout, c.Stderr = far, far, far
	c.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	s.shows(t, "[space marks, q stops]")
	s.shows(t, "tone 997")
	fmt.Fprint(s.keys, " ")
	s.shows(t, "1 mark")
	fmt.Fprint(s.keys, "q")
	s.shows(t, "are in the book as recording 1")
	if err := c.Wait(); err != nil {
		t.Error(err)
	}
	after, err := unix.IoctlGetTermios(int(far.Fd()), unix.TCGETS)
	if err != nil || after.Lflag != before.Lflag {
		t.Errorf("the terminal was left as %x, was %x, %v", after.Lflag, before.Lflag, err)
	}
	all, _, _ := recorded(t, dir)
	if len(all) != 1 || len(all[0].Marks) != 1 || all[0].RateHz != 48000 || all[0].Channels != 2 || all[0].Capture.Path != "sound server" || all[0].Capture.Cut {
		t.Errorf("%+v", all)
	}
}

// TestListenToTheKeyboard: forgotten was the recorder before the bar.
func TestListenToTheKeyboard(t *testing.T) {
	_, far := newScreen(t)
	c := command(t, "bench", "listen", "--raw", "--rate", "48000", "--to", filepath.Join(t.TempDir(), "x.wav"))
	c.Stdin = far
	out, err := c.CombinedOutput()
	if statusOf(t, err) != exitUsage || !strings.Contains(string(out), "standard input is the keyboard") {
		t.Errorf("%v: %s", err, out)
	}
}

// ownSoundServer starts a private sound server into which a tone of 997 Hz is
// played, and returns where it listens; it skips the test where there is none.
func ownSoundServer(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("pulseaudio")
	player, err2 := exec.LookPath("pacat")
	if err != nil || err2 != nil {
		t.Skip("pulseaudio is not installed: the sound server was not tried")
	}
	home, err := os.MkdirTemp("", "sound") // the name of a socket must be short
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(home) })
	address := "unix:" + filepath.Join(home, "socket")
	run := func(in io.Reader, path string, args ...string) {
		c := exec.Command(path, args...)
		c.Env = append(os.Environ(), "HOME="+home, "XDG_RUNTIME_DIR="+home)
		c.Stdin = in
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	}
	run(nil, path, "-n", "--exit-idle-time=-1", "--daemonize=no", "--use-pid-file=no", "--log-target=file:"+filepath.Join(home, "log"),
		"-L", "module-null-sink sink_name=loop rate=48000", "-L", "module-native-protocol-unix auth-anonymous=1 socket="+filepath.Join(home, "socket"))
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		s := typed(t, "", "bench", "listen", "--list", "--server", address)
		if s.status == exitDone && strings.Contains(s.out, "loop.monitor") && strings.Contains(s.out, "48000 Hz") {
			break
		}
		if time.Now().After(end) {
			t.Skipf("the sound server does not start here: it was not tried: %s", s.err)
		}
	}
	run(bytes.NewReader(beatNote(60)), player, "--server="+address, "--device=loop", "--raw", "--rate=48000", "--channels=1", "--format=s16le")
	return address
}
