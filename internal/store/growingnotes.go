package store

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"time"

	"setwright/internal/run"
)

// growingLine is one line of a growing recording's notes. Later lines add to
// earlier ones. A line that a full disk or a pulled plug cut short is passed
// over.
type growingLine struct {
	// The first line: what the recording is meant for, and when it was begun.
	Heading *NewRecording `json:"heading,omitempty"`
	Began   time.Time     `json:"began,omitzero"`
	// The integrity record; its gaps take the place of those known before from
	// number From on.
	Capture *run.Capture `json:"capture,omitempty"`
	From    int          `json:"from,omitempty"`
	Mark    *run.Mark    `json:"mark,omitempty"`
	// Placed says that the finished file was put into its place, just before
	// the book took it in; without a hash, that it was put back.
	Placed *placedFile `json:"placed,omitempty"`
}

// placedFile is a finished file and the run that it was to be attached to.
type placedFile struct {
	SHA256 string `json:"sha256"`
	RunID  string `json:"run_id"`
}

// growingKnown is what the notes of a growing recording say.
type growingKnown struct {
	heading *NewRecording
	began   time.Time
	capture *run.Capture
	marks   []run.Mark
	placed  placedFile
}

// growingNotes writes the notes.
type growingNotes struct {
	file  *os.File
	known growingKnown
	torn  bool // the last line may not be whole
}

func newGrowingNotes(path string) (*growingNotes, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o644)
	return &growingNotes{file: f}, err
}

func (n *growingNotes) write(line growingLine) error {
	doc, err := json.Marshal(line)
	if err != nil {
		return fmt.Errorf("notes of a recording: %w", err)
	}
	if n.torn {
		doc = append([]byte("\n"), doc...)
	}
	_, err = n.file.Write(append(doc, '\n'))
	if n.torn = err != nil; !n.torn {
		n.known.take(line)
	}
	return err
}

// capture writes what is new in an integrity record.
func (n *growingNotes) capture(c run.Capture) error {
	same := 0
	if old := n.known.capture; old != nil {
		for same < min(len(old.Gaps), len(c.Gaps)) && old.Gaps[same] == c.Gaps[same] {
			same++
		}
		if same == len(c.Gaps) && same == len(old.Gaps) && alike(*old, c) {
			return nil
		}
	}
	c.Gaps = c.Gaps[same:]
	return n.write(growingLine{Capture: &c, From: same})
}

// alike says whether two integrity records are the same but for their gaps.
func alike(a, b run.Capture) bool {
	a.Gaps, b.Gaps = nil, nil
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && string(x) == string(y)
}

func (n *growingNotes) mark(m run.Mark) error { return n.write(growingLine{Mark: &m}) }

func (n *growingNotes) placed(p placedFile) error {
	if err := n.write(growingLine{Placed: &p}); err != nil {
		return err
	}
	return n.file.Sync()
}

// take adds a line to what is known.
func (k *growingKnown) take(line growingLine) {
	if line.Heading != nil {
		k.heading, k.began = line.Heading, line.Began
	}
	if c := line.Capture; c != nil {
		fresh := *c
		fresh.Gaps = nil
		if k.capture != nil && line.From > 0 {
			fresh.Gaps = append(fresh.Gaps, k.capture.Gaps[:min(line.From, len(k.capture.Gaps))]...)
		}
		fresh.Gaps = append(fresh.Gaps, c.Gaps...)
		k.capture = &fresh
	}
	if line.Mark != nil {
		k.marks = append(k.marks, *line.Mark)
	}
	if line.Placed != nil {
		k.placed = *line.Placed
	}
}

// readGrowing reads notes.
func readGrowing(path string) (growingKnown, error) {
	var k growingKnown
	f, err := os.Open(path)
	if err != nil {
		return k, err
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		var line growingLine
		if json.Unmarshal(lines.Bytes(), &line) == nil {
			k.take(line)
		}
	}
	return k, lines.Err()
}
