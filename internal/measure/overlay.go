package measure

import (
	"fmt"
	"strings"
)

// Overlay lays the main pictures of two groups of runs over each other: every
// point and the fitted line of each run, each less its own offset (its closing
// value), in the colours of the sides. a and b are plots of one measurement.
func Overlay(a, b []Plot, nameA, nameB string) Plot {
	var out Plot
	for _, p := range append(append([]Plot(nil), a...), b...) {
		out = Plot{ID: "overlay", Title: p.Title, X: p.X, Y: p.Y}
		out.Y.Offset = 0
		break
	}
	from := ""
	if out.Y.OffsetLabel != "" {
		from = ", each from its own " + strings.TrimPrefix(out.Y.OffsetLabel, "from ")
	}
	out.Caption = fmt.Sprintf("Every reading of every run%s. %s: %s. %s: %s.", from, nameA, countRuns(len(a)), nameB, countRuns(len(b)))
	out.Alt = fmt.Sprintf("Readings of %s and of %s over each other", nameA, nameB)
	for i, p := range a {
		out.Layers = append(out.Layers, sided(p, SideA, labelOnce(nameA, i))...)
	}
	for i, p := range b {
		out.Layers = append(out.Layers, sided(p, SideB, labelOnce(nameB, i))...)
	}
	for i, p := range append(append([]Plot(nil), a...), b...) {
		if i == 0 {
			out.Spans = lessOffset(p.Spans, p.Y.Offset)
		}
	}
	return out
}

// labelOnce labels the first run of a side only.
func labelOnce(name string, i int) string {
	if i == 0 {
		return name
	}
	return ""
}

// sided returns the points and lines of a plot in the colour of a side, less
// the plot's offset.
func sided(p Plot, side, label string) []Layer {
	var out []Layer
	for _, l := range p.Layers {
		if l.Kind != LayerPoints && l.Kind != LayerLine {
			continue
		}
		moved := Layer{Kind: l.Kind, Side: side, X: l.X, Y: make([]float64, len(l.Y))}
		for i, y := range l.Y {
			moved.Y[i] = y - p.Y.Offset
		}
		if l.Kind == LayerLine {
			moved.Label = label
		}
		out = append(out, moved)
	}
	return out
}

// lessOffset moves spans on the y axis with the data.
func lessOffset(spans []Span, offset float64) []Span {
	out := append([]Span(nil), spans...)
	for i := range out {
		if out[i].Axis == "y" {
			out[i].From -= offset
			out[i].To -= offset
		}
	}
	return out
}
