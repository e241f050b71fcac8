package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// makeFiles says how the programs and files of the workloads are named.
type makeFiles struct{ out, python string }

// workloads lists all of them; out is the folder of the built programs, python
// the interpreter of the other side.
func workloads(out, python string) []workload {
	m := makeFiles{out: out, python: python}
	return []workload{
		m.deviations("P1a", "10^6", 1_000_000, 0.15),
		m.deviations("P1b", "10^7", 10_000_000, 0.2),
		m.warmUp(),
		m.warmUpHuber(),
		m.welch(),
		m.toneTrack(),
		m.toneTrackSingle(),
		m.loudness("P5a", "", 1.2, 0.7),
		m.loudness("P5b", "-peak", 1.0, 0.55),
		m.decodeFLAC(),
		m.insert(),
		m.live(),
		m.readBack(),
		m.importing(),
	}
}

func (m makeFiles) file(name string) string { return filepath.Join(m.out, name) }

// ours is a run of this project's side of a workload.
func (m makeFiles) ours(id, program string, args ...string) process {
	return process{args: append([]string{m.file("ours-" + program)}, args...), save: m.file(id + "-ours.json")}
}

// theirs is a run of the general tool's side.
func (m makeFiles) theirs(id, script string, args ...string) process {
	return process{args: append([]string{m.python, filepath.Join("bench", script)}, args...),
		env: toolEnv(), save: m.file(id + "-tool.json")}
}

// agree compares what the sides printed by a script that knows what they print.
func (m makeFiles) agree(id, script string) func() (string, error) {
	return func() (string, error) {
		cmd := exec.Command(m.python, filepath.Join("bench", script), m.file(id+"-ours.json"), m.file(id+"-tool.json"))
		out, err := cmd.CombinedOutput()
		said := strings.TrimSpace(string(out))
		if err != nil {
			return "", fmt.Errorf("%s (%v)", said, err)
		}
		return said, nil
	}
}

func (m makeFiles) deviations(id, power string, n int, limit float64) workload {
	record := m.file(id + ".bin")
	return workload{
		id: id, title: "overlapping, modified and Hadamard deviation at octaves of " + power + " phase points",
		tool: "NumPy, one pass a tau", modules: []string{"numpy"},
		input:  []string{m.file("ours-p1"), "-make", record, "-n", fmt.Sprint(n)},
		ours:   m.ours(id, "p1", record),
		theirs: m.theirs(id, "p1/reference.py", record),
		agree:  m.agree(id, "p1/agree.py"),
		aims:   []aim{{cpuRatio, limit}, {wallRatio, 0}, {peakMemory, 100}},
	}
}

func (m makeFiles) warmUp() workload {
	record := m.file("P2.bin")
	return workload{
		id: "P2", title: "warm-up fit, two exponentials and a line, 7200 readings, 1000 resamples",
		tool: "SciPy curve_fit", modules: []string{"numpy", "scipy"},
		input:  []string{m.file("ours-p2"), "-make", record},
		ours:   m.ours("P2", "p2", record),
		theirs: m.theirs("P2", "p2/reference.py", record),
		agree:  m.agree("P2", "p2/agree.py"),
		aims:   []aim{{cpuRatio, 0.4}, {wallRatio, 0.2}, {peakMemory, 0}},
	}
}

func (m makeFiles) warmUpHuber() workload {
	record := m.file("P2r.bin")
	w := workload{
		id: "P2r", title: "the same with the Huber loss, 100 resamples",
		tool: "SciPy least_squares", modules: []string{"numpy", "scipy"},
		input:    []string{m.file("ours-p2"), "-make", record},
		ours:     m.ours("P2r", "p2", "-huber", record),
		theirs:   m.theirs("P2r", "p2r/reference.py", record),
		agree:    m.agree("P2r", "p2/agree.py"),
		net:      true,
		oursIdle: m.ours("P2r-idle", "p2", "-help"),
		aims:     []aim{{cpuRatio, 0.3}, {wallRatio, 0}, {peakMemory, 0}},
	}
	// Its factorizations of 7200 x 6 lose by a second thread, which waits in a loop.
	w.theirs.env = append(w.theirs.env, "OPENBLAS_NUM_THREADS=1")
	w.theirsIdle = m.theirs("P2r-idle", "")
	w.theirsIdle.env = w.theirs.env
	w.theirsIdle.args = []string{m.python, "-c", "import json, sys, numpy; from scipy.optimize import least_squares"}
	return w
}

// The books of workload P8, in which the sides keep the same readings.
func (m makeFiles) books(id string) (ours, theirs string) {
	return m.file(id + "-book"), m.file(id + ".db")
}

// storing is P8 up to the readings being on disk.
func (m makeFiles) storing(id, title, how string) workload {
	readings := m.file("P8.bin")
	book, db := m.books(id)
	w := workload{
		id: id, title: title, tool: "sqlite3, a row a reading", modules: []string{"sqlite3"},
		input:  []string{m.file("ours-p8"), "-make", readings},
		ours:   m.ours(id, "p8", how, readings, book),
		theirs: m.theirs(id, "p8/sqlite.py", how, readings, db),
		agree:  func() (string, error) { return m.sameReadings(book, db) },
		size:   func() (float64, float64, error) { return sizes(readings, book, db) },
		aims:   []aim{{cpuRatio, 0.2}, {wallRatio, 0.5}, {peakMemory, 0}, {bytesAReading, 9}},
	}
	w.ours.fresh, w.theirs.fresh = book, db
	return w
}

func (m makeFiles) insert() workload {
	return m.storing("P8a", "10^6 readings stored durably in one go", "insert")
}

func (m makeFiles) live() workload {
	return m.storing("P8b", "10^6 readings stored in 1000 durable transactions", "live")
}

// readBack reads what insert left.
func (m makeFiles) readBack() workload {
	book, db := m.books("P8a")
	return workload{
		id: "P8c", title: "the readings stored in one go read back", tool: "sqlite3, a row a reading", modules: []string{"sqlite3"},
		need:   book,
		ours:   m.ours("P8c", "p8", "read", book),
		theirs: m.theirs("P8c", "p8/sqlite.py", "read", db),
		agree:  func() (string, error) { return m.sameReadings(book, db) },
		aims:   []aim{{cpuRatio, 0.1}, {wallRatio, 0}, {peakMemory, 0}},
	}
}

func (m makeFiles) importing() workload {
	log := m.file("P9.csv")
	return workload{
		id: "P9", title: "import of a log of 10^6 lines (time, frequency, temperature), every line checked",
		tool: "NumPy loadtxt", modules: []string{"numpy"},
		input:  []string{m.file("ours-p9"), "-make", log},
		ours:   m.ours("P9", "p9", log),
		theirs: m.theirs("P9", "p9/reference.py", log),
		agree:  m.agree("P9", "p9/agree.py"),
		aims:   []aim{{cpuRatio, 0.7}, {wallRatio, 0}, {peakMemory, 40}},
	}
}

// sameReadings has both sides read their books and print digests of times and
// frequencies, which must be equal.
func (m makeFiles) sameReadings(book, db string) (string, error) {
	ours := exec.Command(m.file("ours-p8"), "read", book)
	theirs := exec.Command(m.python, filepath.Join("bench", "p8/sqlite.py"), "read", db)
	var said [2][]byte
	for i, cmd := range []*exec.Cmd{ours, theirs} {
		cmd.Env = append(toolEnv(), "DIGEST=1")
		out, err := cmd.Output()
		if err != nil {
			return "", fmt.Errorf("%s: %v", strings.Join(cmd.Args, " "), err)
		}
		said[i] = bytes.TrimSpace(out)
	}
	lines := bytes.Split(said[0], []byte("\n"))
	if len(lines) != 3 || !bytes.Equal(said[0], said[1]) {
		return "", fmt.Errorf("ours read %q, the tool %q", said[0], said[1])
	}
	return string(lines[0]) + " read back on both sides, digests of times and frequencies equal", nil
}

// sizes are the bytes on disk of a whole book and of the tool's database for
// one reading.
func sizes(readings, book, db string) (ours, theirs float64, err error) {
	in, err := os.Stat(readings)
	if err != nil {
		return 0, 0, err
	}
	file, err := os.Stat(db)
	if err != nil {
		return 0, 0, err
	}
	n := float64(in.Size() / 16) // a time and a frequency of eight bytes each
	total, err := folderSize(book)
	return total / n, float64(file.Size()) / n, err
}

func folderSize(dir string) (total float64, err error) {
	err = filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err == nil {
			total += float64(info.Size())
		}
		return err
	})
	return total, err
}
