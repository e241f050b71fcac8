package chart

import (
	"cmp"
	"math"
	"slices"
)

// Above eachDrawn readings in a layer a dot for each would only make a blot
// and a large file; maxStrokes bounds the strokes drawn instead.
const (
	eachDrawn  = 4000
	maxStrokes = 6000
)

// thin draws many points as few upright strokes in which every point is still
// represented: the points of one pixel column are sorted by height, those
// less than `gap` px apart form one stroke from the lowest to the highest of
// them (a lone point gives a stroke of no length, a dot), and gap grows from
// one pixel until no more than maxStrokes remain. Every point lies on a
// stroke of its own column, and the highest and lowest of each column keep
// their exact places: no extreme is ever lost or moved.
func thin(points []Point) [][]Point {
	sorted := byColumn(points)
	for gap := 1.0; ; gap *= 2 {
		if strokes := columnStrokes(sorted, gap); len(strokes) <= maxStrokes || gap > 1e5 {
			return strokes
		}
	}
}

func byColumn(points []Point) []Point {
	sorted := slices.Clone(points)
	for i := range sorted {
		sorted[i].X = math.Floor(sorted[i].X) + 0.5
	}
	slices.SortFunc(sorted, func(a, b Point) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y))
	})
	return sorted
}

func columnStrokes(sorted []Point, gap float64) [][]Point {
	var out [][]Point
	for i := 0; i < len(sorted); {
		j := i + 1
		for j < len(sorted) && sorted[j].X == sorted[i].X && sorted[j].Y-sorted[j-1].Y <= gap {
			j++
		}
		out = append(out, []Point{sorted[i], sorted[j-1]})
		i = j
	}
	return out
}

// thinLine keeps of a long line, for each stretch of it within one pixel
// column, the first, lowest, highest and last point: what is drawn covers
// the same pixels.
func thinLine(path []Point, columns int) []Point {
	if len(path) <= 4*columns {
		return path
	}
	var out []Point
	for i := 0; i < len(path); {
		j := i + 1
		for j < len(path) && math.Floor(path[j].X) == math.Floor(path[i].X) {
			j++
		}
		out = append(out, corners(path[i:j])...)
		i = j
	}
	return out
}

func corners(run []Point) []Point {
	lowest, highest := 0, 0
	for i, q := range run {
		if q.Y < run[lowest].Y {
			lowest = i
		}
		if q.Y > run[highest].Y {
			highest = i
		}
	}
	keep := []int{0, min(lowest, highest), max(lowest, highest), len(run) - 1}
	var out []Point
	for _, i := range slices.Compact(keep) {
		out = append(out, run[i])
	}
	return out
}
