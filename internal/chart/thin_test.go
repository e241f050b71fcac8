package chart

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// covers reports what thin promises of strokes: each point on one of its own
// column, the extremes of each column exact.
func covers(strokes [][]Point, points []Point) bool {
	type span struct{ lo, hi float64 }
	want := map[float64]span{}
	columns := map[float64][][]Point{}
	ends := map[float64]span{}
	for _, s := range strokes {
		columns[s[0].X] = append(columns[s[0].X], s)
		e, ok := ends[s[0].X]
		if !ok {
			e = span{s[0].Y, s[1].Y}
		}
		ends[s[0].X] = span{min(e.lo, s[0].Y), max(e.hi, s[1].Y)}
	}
	for _, q := range points {
		x := math.Floor(q.X) + 0.5
		on := false
		for _, s := range columns[x] {
			on = on || q.Y >= s[0].Y && q.Y <= s[1].Y
		}
		if !on {
			return false
		}
		w, ok := want[x]
		if !ok {
			w = span{q.Y, q.Y}
		}
		want[x] = span{min(w.lo, q.Y), max(w.hi, q.Y)}
	}
	for x, w := range want {
		if ends[x] != w {
			return false
		}
	}
	return len(ends) == len(want)
}

func TestThinnedReadingsAreAllThere(t *testing.T) {
	point := rapid.Custom(func(t *rapid.T) Point {
		return Point{rapid.Float64Range(0, 30).Draw(t, "x"), rapid.Float64Range(0, 300).Draw(t, "y")}
	})
	rapid.Check(t, func(t *rapid.T) {
		points := rapid.SliceOfN(point, 1, 200).Draw(t, "points")
		if !covers(thin(points), points) {
			t.Fatal("a reading is not on any stroke, or an extreme has moved")
		}
	})
}

func TestThinIsBounded(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	points := make([]Point, 200_000) // scattered all over: the worst case
	for i := range points {
		points[i] = Point{800 * r.Float64(), 1500 * r.Float64()}
	}
	strokes := thin(points)
	if len(strokes) > maxStrokes {
		t.Errorf("%d strokes, at most %d wanted", len(strokes), maxStrokes)
	}
	if !covers(strokes, points) {
		t.Error("a reading is not on any stroke, or an extreme has moved")
	}
}

// A single slip among twenty thousand readings must stay where it is.
func TestASlipIsSeen(t *testing.T) {
	plot := longRecord(20000)
	p := Layout(plot, Wide)
	top := math.Inf(1)
	for _, it := range p.Items {
		if it.Class == "dense" {
			for _, s := range it.Paths {
				top = min(top, s[0].Y)
			}
		}
	}
	next := math.Inf(1)
	for _, it := range p.Items {
		for _, s := range it.Paths {
			if it.Class == "dense" && s[0].Y > top {
				next = min(next, s[0].Y)
			}
		}
	}
	if next-top < 40 {
		t.Errorf("the slip stands %.1f px over the rest", next-top)
	}
}

func TestThinLineKeepsEndsAndExtremes(t *testing.T) {
	path := make([]Point, 5000)
	for i := range path {
		path[i] = Point{float64(i) / 50, 100 + 50*math.Sin(float64(i)/7)}
	}
	path[2222].Y = -300
	out := thinLine(path, 100)
	if len(out) > 4*101 || out[0] != path[0] || out[len(out)-1] != path[len(path)-1] {
		t.Errorf("%d points from %v to %v", len(out), out[0], out[len(out)-1])
	}
	lowest := out[0]
	for _, q := range out {
		if q.Y < lowest.Y {
			lowest = q
		}
	}
	if lowest != path[2222] {
		t.Errorf("the spike is at %v, was at %v", lowest, path[2222])
	}
	if short := path[:300]; len(thinLine(short, 100)) != 300 {
		t.Error("a short line was thinned")
	}
}
