package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"setwright/recording"
)

// mostKB is the most memory that sound of any length may take, in kB.
const mostKB = 64 * 1024

// peakFile names the file into which the program, run by a test, writes the most
// memory that it held.
const peakFile = "SETWRIGHT_TEST_PEAK"

func init() { asProgram = measured }

// measured is the program, which says at its end how much memory it held.
func measured() {
	path := os.Getenv(peakFile)
	if path == "" {
		main()
	}
	status := Main(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	if err := os.WriteFile(path, []byte(fmt.Sprint(peakOf("self"))), 0o644); err != nil {
		panic(err)
	}
	os.Exit(status)
}

// peakOf is the most memory that a process has held, in kB: the high-water mark
// of its resident set.
func peakOf(pid string) int {
	b, err := os.ReadFile("/proc/" + pid + "/status")
	if err != nil {
		return 0
	}
	for _, line := range strings.Split(string(b), "\n") {
		if f := strings.Fields(line); len(f) > 1 && f[0] == "VmHWM:" {
			n, _ := strconv.Atoi(f[1])
			return n
		}
	}
	return 0
}

// longSound is a recording of some minutes at 48 kHz: a tone in noise, 20 dB
// stronger and weaker in turn. As numbers in memory it would take more than is
// allowed.
func longSound(t *testing.T, minutes int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "long.wav")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := recording.NewWriter(f, recording.Format{RateHz: 48000, Channels: 1, Bits: 16})
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(997, 48000))
	block := make([]float64, 48000)
	for s := range 60 * minutes {
		level := 0.4
		if s/12%2 == 1 {
			level = 0.04
		}
		for i := range block {
			block[i] = level*math.Sin(2*math.Pi*997*float64(i)/48000) + 0.002*r.NormFloat64()
		}
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestSoundTakesNoRoom: whatever the length of a recording, the program holds
// little of it, on the command line and on the pages.
func TestSoundTakesNoRoom(t *testing.T) {
	if testing.Short() {
		t.Skip("three minutes of sound at 48 kHz: not in a short run")
	}
	book, long, peak := bookOfOne(t), longSound(t, 3), filepath.Join(t.TempDir(), "peak")
	for _, args := range [][]string{
		{"analyse", "drift", long},
		{"analyse", "bfo", long},
		{"analyse", "agc", long},
		{"analyse", "audio", long},
		{"analyse", "selectivity", "--detection", "bfo", long},
		{"analyse", "sensitivity", "--bfo", "on", long + "@input=-107dBm", long + "@signal=off"},
		{"run", "import", "turnstone", "--measurement", "agc", long, "--book", book},
	} {
		c := command(t, args...)
		c.Env = append(c.Env, peakFile+"="+peak)
		if said, err := c.CombinedOutput(); err != nil && statusOf(t, err) != exitData {
			t.Fatalf("%q: %v\n%s", args, err, said)
		}
		held, err := os.ReadFile(peak)
		if err != nil {
			t.Fatal(err)
		}
		n, _ := strconv.Atoi(string(held))
		t.Logf("%d kB: %s", n, strings.Join(args[:3], " "))
		if n == 0 || n > mostKB {
			t.Errorf("%q holds %d kB, expected at most %d", args, n, mostKB)
		}
	}
	t.Run("pages", func(t *testing.T) { pagesTakeNoRoom(t, book) })
}

// pagesTakeNoRoom opens the page of a run and of its recording.
func pagesTakeNoRoom(t *testing.T, book string) {
	p := start(t, "serve", "--address", "127.0.0.1:0", "--book", book)
	url := strings.TrimSuffix(strings.Fields(p.line(t, "The pages are at"))[4], "/")
	run := strings.Fields(done(t, "set", "show", "turnstone", "--book", book))
	id := ""
	for _, word := range run {
		if strings.HasPrefix(word, "turnstone-agc-") {
			id = strings.Trim(word, "().,:;")
		}
	}
	for _, page := range []string{"/runs/" + id, "/runs/" + id + "/recordings/1"} {
		for end := time.Now().Add(2 * time.Minute); ; time.Sleep(200 * time.Millisecond) {
			answer, err := http.Get(url + page)
			if err != nil {
				t.Fatal(err)
			}
			body, err := io.ReadAll(answer.Body)
			answer.Body.Close()
			if err != nil || answer.StatusCode != http.StatusOK || time.Now().After(end) {
				t.Fatalf("%s: status %d, %v", page, answer.StatusCode, err)
			}
			if answer.Request.URL.Path == page && bytes.Contains(body, []byte("long.wav")) {
				break // else it is the page of the work going on
			}
		}
	}
	n := peakOf(strconv.Itoa(p.Process.Pid))
	t.Logf("%d kB", n)
	if n == 0 || n > mostKB {
		t.Errorf("the pages hold %d kB, expected at most %d", n, mostKB)
	}
}
