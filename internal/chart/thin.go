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
// represented. Points are sorted into cells of one pixel, of which each keeps
// its lowest and highest; the cells of a column whose points lie less than
// `gap` px apart form one stroke from the lowest to the highest of them (a
// lone point gives a stroke of no length, a dot); and gap grows from one
// pixel until no more than maxStrokes remain. Every point lies on a stroke of
// its own column, and the highest and lowest of each column keep their exact
// places: no extreme is ever lost or moved.
func thin(points []Point) [][]Point {
	cells := cellsOf(points)
	for gap := 1.0; ; gap *= 2 {
		if strokes := columnStrokes(cells, gap); len(strokes) <= maxStrokes || gap > 1e5 {
			return strokes
		}
	}
}

// cell is what lies in one pixel.
type cell struct {
	column, row int
	low, high   float64
}

// cellsOf returns the cells that hold points, column by column, by height.
func cellsOf(points []Point) []cell {
	at := map[[2]int]int{}
	var cells []cell
	for _, q := range points {
		key := [2]int{int(math.Floor(q.X)), int(math.Floor(q.Y))}
		i, known := at[key]
		if !known {
			i = len(cells)
			at[key] = i
			cells = append(cells, cell{key[0], key[1], q.Y, q.Y})
		}
		cells[i].low, cells[i].high = min(cells[i].low, q.Y), max(cells[i].high, q.Y)
	}
	slices.SortFunc(cells, func(a, b cell) int {
		return cmp.Or(cmp.Compare(a.column, b.column), cmp.Compare(a.row, b.row))
	})
	return cells
}

func columnStrokes(cells []cell, gap float64) [][]Point {
	var out [][]Point
	for i := 0; i < len(cells); {
		j := i + 1
		for j < len(cells) && cells[j].column == cells[i].column && cells[j].low-cells[j-1].high <= gap {
			j++
		}
		x := float64(cells[i].column) + 0.5
		out = append(out, []Point{{x, cells[i].low}, {x, cells[j-1].high}})
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
