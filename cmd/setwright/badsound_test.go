package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"setwright/internal/workshop/shoptest"
)

// nonsense is what no figure may hold.
var nonsense = regexp.MustCompile(`NaN|Inf\b|%!|goroutine`)

// TestDamagedRecordings gives every damaged recording to "analyse" and to
// "import": one message, the same for both, exit status 1 and nothing in the
// book; or it is kept, and what is wrong with it is said.
func TestDamagedRecordings(t *testing.T) {
	dir := t.TempDir()
	for _, bad := range shoptest.BadSounds() {
		t.Run(bad.Name, func(t *testing.T) {
			book, path := bookOfOne(t), writeFile(t, dir, bad.Name, bad.Data)
			all := []said{typed(t, "", "run", "import", "turnstone", path, "--measurement", "sensitivity", "--book", book)}
			for _, kind := range []string{"agc", "audio", "bfo", "drift", "selectivity", "sensitivity"} {
				all = append(all, typed(t, "", "analyse", kind, path))
			}
			if bad.Want == "" {
				imported, text := all[0], strings.Join(strings.Fields(all[0].out), " ")
				if imported.status != exitDone || !strings.Contains(text, bad.Warn) {
					t.Errorf("status %d, said %s%s", imported.status, imported.err, imported.out)
				}
				if got := keptIn(t, book); got != (kept{1, 1, 1}) {
					t.Errorf("the book holds %+v", got)
				}
				for _, s := range all[1:] { // figures or a refusal, and neither of them nonsense
					if s.status == exitData {
						checkMessage(t, s)
					} else if bad := nonsense.FindString(s.out); s.status != exitDone || bad != "" {
						t.Errorf("status %d, %q in %s%s", s.status, bad, s.err, s.out)
					}
				}
				return
			}
			for _, s := range all {
				text := strings.Replace(s.err, dir+string(filepath.Separator), "", 1)
				if s.status != exitData || text != "setwright: "+bad.Name+bad.Want+"\n" {
					t.Errorf("status %d, said\n%swant\nsetwright: %s%s", s.status, text, bad.Name, bad.Want)
				}
				checkMessage(t, s)
			}
			if got := keptIn(t, book); got != (kept{}) {
				t.Errorf("the book holds %+v", got)
			}
		})
	}
}

// TestRecordingsOfOneRunAreOneImport: of three recordings the last is damaged,
// so none is stored.
func TestRecordingsOfOneRunAreOneImport(t *testing.T) {
	book, dir := bookOfOne(t), t.TempDir()
	on := writeFile(t, dir, "on.wav", shoptest.Recorded(3, 0.1, 0.02))
	off := writeFile(t, dir, "off.wav", shoptest.Recorded(3, 0, 0.02))
	cut := writeFile(t, dir, "cut.wav", shoptest.Recorded(3, 0, 0.02)[:40])
	args := []string{"run", "import", "turnstone", "--measurement", "sensitivity", "--book", book, on + "@input=-107dBm,signal=on", off + "@input=-107dBm,signal=off"}
	s := typed(t, "", append(args, cut)...)
	if s.status != exitData || !strings.HasPrefix(s.err, "setwright: cut.wav, byte 36: found") {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
	if got := keptIn(t, book); got != (kept{}) {
		t.Errorf("the book holds %+v", got)
	}
	done(t, args...)
	if got := keptIn(t, book); got != (kept{runs: 1, files: 2, lying: 2}) {
		t.Errorf("the book holds %+v", got)
	}
}

// TestRecordingThatMayNotBeRead says so.
func TestRecordingThatMayNotBeRead(t *testing.T) {
	path := writeFile(t, t.TempDir(), "locked.wav", shoptest.Recorded(1, 0.1, 0.01))
	if err := os.Chmod(path, 0); err != nil {
		t.Fatal(err)
	}
	if f, err := os.Open(path); err == nil {
		f.Close()
		t.Skip("whoever runs this may read every file")
	}
	s := typed(t, "", "analyse", "drift", path)
	if s.status != exitData || !strings.HasSuffix(s.err, "locked.wav: this file may not be read by you; change its permissions or copy it\n") {
		t.Errorf("status %d, said %s", s.status, s.err)
	}
}

// TestWrongLabels are the command's fault, whatever is in the recording, but for
// a channel that it does not have; analyse and import say the same.
func TestWrongLabels(t *testing.T) {
	book, dir := bookOfOne(t), t.TempDir()
	writeFile(t, dir, "tone.wav", shoptest.Recorded(3, 0.1, 0.01))
	writeFile(t, dir, "log.csv", "t_s,f_hz\n0,7065300\n60,7065400\n")
	t.Chdir(dir)
	for _, c := range []struct{ kind, file, want string }{
		{"sensitivity", "tone.wav@colour=red", `tone.wav: found the label "colour", expected one of input, signal`},
		{"sensitivity", "tone.wav@input=loud", `tone.wav, label input: found "loud", expected a level as in -107 dBm or 2 µV emf`},
		{"sensitivity", "tone.wav@input=-73 dBm,signal=perhaps", `tone.wav, label signal: found "perhaps", expected one of on, off, modulated, unmodulated, antenna, dummy`},
		{"sensitivity", "tone.wav@signal=on,signal=off", "tone.wav: found the label signal twice, expected it once"},
		{"sensitivity", "tone.wav@input=", "tone.wav: found nothing after input=, expected a value"},
		{"sensitivity", "tone.wav@loud", `tone.wav: found "loud" after @, expected labels as in tone.wav@input=-73dBm,signal=on`},
		{"agc", "tone.wav@as=step,as=keyed", "tone.wav: found the label as twice, expected it once"},
		{"agc", "tone.wav@as=static", `tone.wav: found a recording given as "static", expected one of step, keyed, fading`},
		{"agc", "tone.wav@step=deep", `tone.wav, label step: found "deep", expected a number, for example`},
		{"agc", "tone.wav@step=-3dB", `tone.wav, label step: found "-3dB", expected more than zero`},
		{"drift", "tone.wav@input=-73dBm", `tone.wav: found the label "input", expected none: a recording of a beat note takes no labels`},
		{"drift", "tone.wav@as=noise", `tone.wav: found a recording given as "noise", expected beat`},
		{"drift", "log.csv@input=3", "log.csv: labels after @ are for recordings; this file is none"},
	} {
		for _, s := range []said{typed(t, "", "analyse", c.kind, c.file), typed(t, "", "run", "import", "turnstone", "--measurement", c.kind, "--book", book, c.file)} {
			if s.status != exitUsage || !strings.HasPrefix(s.err, "setwright: "+c.want) {
				t.Errorf("%s %s: status %d, said %swant %s", c.kind, c.file, s.status, s.err, c.want)
			}
			checkMessage(t, s)
		}
	}
	const want = "setwright: tone.wav: found channel 3 asked for, expected channel 1; the recording has no other\n"
	for _, s := range []said{typed(t, "", "analyse", "drift", "--channel", "3", "tone.wav"), typed(t, "", "run", "import", "turnstone", "--channel", "3", "--book", book, "tone.wav")} {
		if s.status != exitData || s.err != want {
			t.Errorf("status %d, said %swant %s", s.status, s.err, want)
		}
	}
	if got := keptIn(t, book); got != (kept{}) {
		t.Errorf("the book holds %+v", got)
	}
}
