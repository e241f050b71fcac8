package drift

import (
	"math"
	"slices"
)

// stretches marks the parts of the recording that the figures came from.
func (w *work) stretches() {
	if w.beat == nil {
		return
	}
	var ids []string
	for _, f := range w.out.Figures {
		if !slices.Contains(ids, f.ID) {
			ids = append(ids, f.ID)
		}
	}
	w.out.Stretches = w.beat.stretches(ids)
}

// warnBeat passes on what following a recorded beat note met with.
func (w *work) warnBeat() {
	if w.beat == nil {
		return
	}
	w.out.Warnings = append(w.out.Warnings, w.beat.scale.Warnings()...)
	w.out.Notes = append(w.out.Notes, w.beat.notes()...)
	switch {
	case w.marked:
		w.note("the moment of power-on is that of the mark in the recording")
	case w.raw.Option(Measurement{}.About(), "power_on") == "":
		w.note("the moment of power-on is not stated: the start of the recording is taken for it")
	}
	if w.sense() == 0 {
		w.note("whether the note rises or falls with the oscillator is not stated: drift and jumps have a size and no sign")
	}
}

// sense is the sign with which a change of the readings is one of the
// oscillator: 1, -1, or 0 where it is not known.
func (w *work) sense() float64 {
	switch {
	case w.set.beatSense == "falls":
		return -1
	case w.set.beatSense == "unknown", w.set.beatSense == "" && w.beat != nil:
		return 0
	}
	return 1
}

// oriented is a change of the readings as one of the oscillator.
func (w *work) oriented(x float64) float64 {
	if s := w.sense(); s != 0 {
		return s * x
	}
	return math.Abs(x)
}
