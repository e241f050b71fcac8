package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
)

// workload is a task for both sides.
type workload struct {
	id, title string
	tool      string   // what stands on the other side
	modules   []string // Python modules that it needs
	program   string   // program that it is, compiled or in the path, or empty
	packages  []string // Debian packages that the program is in or compiled with

	input []string // command that makes the input, or nil
	need  string   // file or folder that an earlier workload leaves, or empty

	ours, theirs         process
	oursIdle, theirsIdle process // with nothing to do, for a net ratio
	net                  bool

	// agree compares what the last runs left behind and says how well.
	agree func() (string, error)
	// size gives bytes on disk for a reading, ours and theirs, or is nil.
	size func() (ours, theirs float64, err error)

	aims []aim
}

// aim is a figure with what it should not exceed.
type aim struct {
	kind  kind
	limit float64 // 0: none, the figure is only shown
}

// kind is what a figure is of.
type kind int

// The kinds. peakMemory and bytesAReading are amounts, with a ratio beside.
const (
	cpuRatio kind = iota
	wallRatio
	peakMemory
	bytesAReading
)

// errDiffer marks figures that do not agree.
var errDiffer = errors.New("figures differ")

// entry measures a workload: rounds of ours, then theirs, the figures of every
// round compared.
func (w workload) entry(missing []string, rounds int) entry {
	e := entry{ID: w.id, Title: w.title, Tool: w.tool}
	if len(missing) > 0 {
		e.Note = missingLine(missing)
		return e
	}
	measured, agreement, err := w.rounds(rounds)
	if err != nil {
		e.Err = err
		return e
	}
	e.Note = agreement
	for _, a := range w.aims {
		line, err := w.line(a, measured)
		if err != nil {
			e.Err = err
			return e
		}
		e.Lines = append(e.Lines, line)
	}
	return e
}

// rounds makes the input and runs the sides in turn.
func (w workload) rounds(count int) (measured []round, agreement string, err error) {
	if w.need != "" {
		if _, err := os.Stat(w.need); err != nil {
			return nil, "", fmt.Errorf("an earlier workload left nothing to read: %v", err)
		}
	}
	if w.input != nil {
		if out, err := exec.Command(w.input[0], w.input[1:]...).CombinedOutput(); err != nil {
			return nil, "", fmt.Errorf("%s: %v: %s", strings.Join(w.input, " "), err, out)
		}
	}
	for range count {
		r, err := w.round()
		if err != nil {
			return nil, "", err
		}
		said, err := w.agree()
		if err != nil {
			return nil, "", fmt.Errorf("%w: %v", errDiffer, err)
		}
		measured, agreement = append(measured, r), said
	}
	return measured, agreement, nil
}

// round runs each side once.
func (w workload) round() (r round, err error) {
	type step struct {
		p  process
		to *usage
	}
	steps := []step{{w.ours, &r.ours}, {w.theirs, &r.theirs}}
	if w.net {
		steps = append(steps, step{w.oursIdle, &r.oursIdle}, step{w.theirsIdle, &r.theirsIdle})
	}
	for _, s := range steps {
		if *s.to, err = s.p.measure(); err != nil {
			return r, err
		}
	}
	return r, nil
}

// line works one figure out.
func (w workload) line(a aim, rounds []round) (line, error) {
	switch a.kind {
	case cpuRatio:
		return w.timeLine("CPU", a, ratioOf(rounds, w.net, cpuSeconds)), nil
	case wallRatio:
		return w.timeLine("wall", a, ratioOf(rounds, w.net, wallSeconds)), nil
	case peakMemory:
		amounts := fmt.Sprintf("%.0f MiB, tool %.0f MiB", middlePeak(rounds, false), middlePeak(rounds, true))
		return amountLine("peak memory", amounts, "MiB", a, middlePeak(rounds, false), middlePeak(rounds, true)), nil
	}
	ours, theirs, err := w.size()
	amounts := fmt.Sprintf("%.2f bytes a reading, tool %.2f", ours, theirs)
	return amountLine("size", amounts, "bytes", a, ours, theirs), err
}

// timeLine judges a ratio.
func (w workload) timeLine(name string, a aim, r ratio) line {
	if w.net {
		name = "net " + name
	}
	out := line{Figure: name, Ratio: digits(r.middle), Range: digits(r.low) + " to " + digits(r.high), Aim: "-", Met: "-"}
	if a.limit > 0 {
		out.Aim, out.Met = fmt.Sprintf("<= %gx", a.limit), met(r, a.limit)
	}
	return out
}

// amountLine judges an amount of ours, and shows the ratio beside.
func amountLine(name, amounts, unit string, a aim, ours, theirs float64) line {
	out := line{Figure: name, Ratio: digits(over(ours, theirs)), Range: amounts, Aim: "-", Met: "-"}
	if a.limit > 0 {
		out.Aim, out.Met = fmt.Sprintf("<= %g %s", a.limit, unit), met(ratio{ours, ours, ours}, a.limit)
	}
	return out
}
