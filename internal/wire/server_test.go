//go:build unix

package wire

import (
	"context"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"setwright/recording"
)

// soundServer is a private sound server with a loop: what is played into it can
// be recorded.
type soundServer struct {
	*exec.Cmd
	address, home string
}

// ownServer starts one, or skips the test where there is none.
func ownServer(t *testing.T, rate string) *soundServer {
	t.Helper()
	path, err := exec.LookPath("pulseaudio")
	if err != nil {
		t.Skip("pulseaudio is not installed: the sound server was not tried")
	}
	home, err := os.MkdirTemp("", "sound") // the name of a socket must be short
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(home) })
	socket := filepath.Join(home, "socket")
	s := &soundServer{exec.Command(path, "-n", "--exit-idle-time=-1", "--daemonize=no", "--use-pid-file=no", "--log-target=file:"+filepath.Join(home, "log"),
		"-L", "module-null-sink sink_name=loop format=s24le channels=2 rate="+rate, "-L", "module-native-protocol-unix auth-anonymous=1 socket="+socket), "unix:" + socket, home}
	s.Env = append(os.Environ(), "HOME="+home, "XDG_RUNTIME_DIR="+home)
	if err := s.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Process.Kill(); _ = s.Wait() })
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		devices, err := (Server{Address: s.address}).Devices(t.Context())
		if err == nil && len(devices) > 0 {
			return s
		}
		if time.Now().After(end) {
			log, _ := os.ReadFile(filepath.Join(home, "log"))
			t.Skipf("the sound server does not start here (%v): it was not tried\n%s", err, log)
		}
	}
}

// play plays a tone into the loop.
func (s *soundServer) play(t *testing.T, rate float64, seconds int) *exec.Cmd {
	t.Helper()
	path, err := exec.LookPath("pacat")
	if err != nil {
		t.Skip("pacat is not installed: nothing was played")
	}
	x := make([]float64, int(rate)*seconds)
	for i := range x {
		x[i] = 0.5 * math.Sin(2*math.Pi*997*float64(i)/rate)
	}
	file := filepath.Join(s.home, "tone.wav")
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	w, err := recording.NewWriter(f, recording.Format{RateHz: rate, Channels: 1, Bits: 24})
	if err == nil {
		err = errors.Join(w.Write(x), w.Close(), f.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
	player := exec.Command(path, "--server="+s.address, "--device=loop", "--file-format=wav", file)
	player.Env = append(os.Environ(), "HOME="+s.home, "XDG_RUNTIME_DIR="+s.home)
	if err := player.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = player.Process.Kill(); _ = player.Wait() })
	return player
}

// open opens the loop.
func (s *soundServer) open(t *testing.T, in Server) SoundCapture {
	t.Helper()
	in.Address = s.address
	c, err := in.Open(t.Context(), Want{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Close() })
	return c
}

// TestSoundServer records a tone that is played: at the device's own rate and
// format the samples are those of the file.
func TestSoundServer(t *testing.T) {
	s := ownServer(t, "44100")
	devices, err := Server{Address: s.address}.Devices(t.Context())
	if err != nil || len(devices) != 1 || devices[0].ID != "loop.monitor" || devices[0].RateHz != 44100 || !devices[0].Monitor || !devices[0].Default {
		t.Fatalf("%+v, %v", devices, err)
	}
	c := s.open(t, Server{Device: "loop"})
	about := c.Sound()
	if about.RateHz != 44100 || about.DeviceRate != 44100 || about.PathRate != 44100 || about.Channels != 2 || about.Coding != (Coding{Bits: 24}) || about.Gain != nil || !strings.Contains(about.Device, "loop.monitor") {
		t.Errorf("%+v", about)
	}
	s.play(t, 44100, 3)
	var left []float64
	clock := NewClock(44100)
	for len(left) < 2*44100 {
		b, err := c.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		clock.Add(b, len(b.Samples)/2)
		for i := 0; i < len(b.Samples); i += 2 {
			if len(left) > 0 || b.Samples[i] != 0 {
				left = append(left, b.Samples[i])
			}
		}
	}
	// The loop gives out silence that was made beforehand, so the first moments
	// of the tone are not in it; from then on every sample must be there.
	played := func(i int) float64 {
		return math.RoundToEven(0.5*math.Sin(2*math.Pi*997*float64(i)/44100)*(1<<23)) / (1 << 23)
	}
	start := -1
	for k := 0; k < 44100 && start < 0; k++ { // the tone comes round after 44100 samples
		if left[0] == played(k) && left[1] == played(k+1) && left[2] == played(k+2) {
			start = k
		}
	}
	if start < 0 {
		t.Fatalf("what was recorded was never played: %v", left[:3])
	}
	for i, x := range left[:44100] {
		if x != played(start+i) {
			t.Fatalf("sample %d is %v, played was %v", i, x, played(start+i))
		}
	}
	if gaps := clock.Gaps(); len(gaps) > 0 {
		t.Errorf("gaps where there were none: %+v", gaps)
	}
	if err := c.Close(); err != nil {
		t.Error(err)
	}
}

// TestSoundServerConverts: another rate than the device's can be had, and both
// are told.
func TestSoundServerConverts(t *testing.T) {
	s := ownServer(t, "44100")
	c, err := Server{Address: s.address}.Open(t.Context(), Want{RateHz: 48000, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if about := c.Sound(); about.RateHz != 48000 || about.PathRate != 48000 || about.DeviceRate != 44100 || about.Channels != 1 {
		t.Errorf("%+v", about)
	}
}

// TestSoundServerVanishes is killed in the middle: what came is there, and the
// end is told.
func TestSoundServerVanishes(t *testing.T) {
	s := ownServer(t, "48000")
	c := s.open(t, Server{})
	frames := 0
	for frames < 24000 {
		b, err := c.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		frames += len(b.Samples) / 2
	}
	if err := s.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(t.Context(), 20*time.Second)
	defer stop()
	var err error
	for err == nil {
		_, err = c.Next(ctx)
	}
	var fault *Fault
	if !errors.As(err, &fault) || fault.Kind != Died || !strings.Contains(err.Error(), "sound server has gone") {
		t.Errorf("its end: %v", err)
	}
}

// TestSoundServerStalls is stopped, not ended.
func TestSoundServerStalls(t *testing.T) {
	s := ownServer(t, "48000")
	c := s.open(t, Server{StallAfter: 3 * time.Second})
	if _, err := c.Next(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := s.Process.Signal(syscall.SIGSTOP); err != nil {
		t.Skipf("it cannot be stopped here (%v)", err)
	}
	defer s.Process.Signal(syscall.SIGCONT)
	var err error
	for err == nil {
		_, err = c.Next(t.Context())
	}
	var fault *Fault
	if !errors.As(err, &fault) || fault.Kind != Stalled {
		t.Errorf("its end: %v", err)
	}
}

// TestSoundServerOverruns: where this program does not take the samples in time
// the server throws some away without a word; the clock tells that time is
// missing.
func TestSoundServerOverruns(t *testing.T) {
	s := ownServer(t, "48000")
	slow := Server{buffer: 48000, StallAfter: 20 * time.Second} // a sixth of a second
	c := s.open(t, slow)
	clock := NewClock(48000)
	began, frames, held := time.Now(), 0, false
	for time.Since(began) < 8*time.Second {
		b, err := c.Next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		clock.Add(b, len(b.Samples)/2)
		if frames += len(b.Samples) / 2; frames == len(b.Samples)/2 {
			began = time.Now() // the first block can take its time
		}
		if frames > 2*48000 && !held {
			held = true
			c.(*serverCapture).held.Store(int64(2500 * time.Millisecond))
		}
	}
	missing := time.Since(began).Seconds() - float64(frames)/48000
	clock.End()
	lost := 0.0
	for _, g := range clock.Gaps() {
		lost += g.LostS
	}
	if lost < 0.5 || math.Abs(lost-missing) > 0.3 {
		t.Errorf("%.2f s are missing, by the clock %.2f s: %+v", missing, lost, clock.Gaps())
	}
}

// TestNoSoundServer: the message says what else can be done.
func TestNoSoundServer(t *testing.T) {
	nowhere := Server{Address: "unix:" + filepath.Join(t.TempDir(), "nothing")}
	_, err := nowhere.Open(t.Context(), Want{})
	var fault *Fault
	if !errors.As(err, &fault) || !strings.Contains(err.Error(), "no sound server answers at") || !strings.Contains(err.Error(), "--raw") {
		t.Error(err)
	}
	s := ownServer(t, "48000")
	if _, err := (Server{Address: s.address, Device: "microphone"}).Open(t.Context(), Want{}); err == nil || !strings.Contains(err.Error(), "loop.monitor") {
		t.Error(err)
	}
}
