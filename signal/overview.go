package signal

import (
	"context"
	"fmt"
	"io"
	"math"
)

// Overview is the shape of a recording for a picture: what its samples do in
// each of a row of columns of equal length, the last of which may be shorter.
type Overview struct {
	RateHz   float64
	ColumnS  float64 // seconds of a column
	Frames   int64
	Min, Max []float64
	RMS      []float64 // the mean not taken off
}

const mostColumns = 100_000

// MakeOverview looks through a source of one channel. With its length known, in
// frames, there are so many columns; with 0 frames there are from so many to twice
// as many. Memory does not grow with the length.
func MakeOverview(ctx context.Context, src Source, columns int, frames int64, progress func(float64)) (*Overview, error) {
	if columns < 1 || columns > mostColumns {
		return nil, fmt.Errorf("signal: an overview of %d columns, expected 1 to %d", columns, mostColumns)
	}
	f, err := newStretchFeed(ctx, src, nil, frames, progress)
	if err != nil {
		return nil, err
	}
	w := &overviewWork{columns: columns, length: max(1, (frames+int64(columns)-1)/int64(columns))}
	buf := make([]float64, feedBlock)
	for {
		n, _, err := f.read(buf)
		if err == io.EOF {
			return w.overview(src.Rate())
		}
		if err != nil {
			return nil, err
		}
		w.add(buf[:n])
	}
}

type overviewWork struct {
	columns int
	length  int64 // frames of a column
	n       int64 // of the last column
	out     Overview
	power   []float64 // sums of squares
}

func (w *overviewWork) add(x []float64) {
	w.out.Frames += int64(len(x))
	for len(x) > 0 {
		if w.n == 0 {
			w.out.Min, w.out.Max, w.power = append(w.out.Min, math.Inf(1)), append(w.out.Max, math.Inf(-1)), append(w.power, 0)
		}
		k := int(min(int64(len(x)), w.length-w.n))
		last := len(w.power) - 1
		low, high := w.out.Min[last], w.out.Max[last]
		for _, v := range x[:k] {
			if v < low {
				low = v
			}
			if v > high {
				high = v
			}
		}
		w.out.Min[last], w.out.Max[last] = low, high
		w.power[last] += sumSquares(x[:k])
		x, w.n = x[k:], w.n+int64(k)
		if w.n == w.length {
			w.n = 0
			w.join()
		}
	}
}

// join makes one column of two where there are too many.
func (w *overviewWork) join() {
	if len(w.power) < 2*w.columns {
		return
	}
	for i := range w.columns {
		w.out.Min[i] = min(w.out.Min[2*i], w.out.Min[2*i+1])
		w.out.Max[i] = max(w.out.Max[2*i], w.out.Max[2*i+1])
		w.power[i] = w.power[2*i] + w.power[2*i+1]
	}
	w.out.Min, w.out.Max, w.power = w.out.Min[:w.columns], w.out.Max[:w.columns], w.power[:w.columns]
	w.length *= 2
}

func (w *overviewWork) overview(rate float64) (*Overview, error) {
	if w.out.Frames == 0 {
		return nil, fmt.Errorf("signal: no samples to look at")
	}
	w.out.RateHz, w.out.ColumnS = rate, float64(w.length)/rate
	for i, p := range w.power {
		n := w.length
		if i == len(w.power)-1 && w.n > 0 {
			n = w.n
		}
		w.out.RMS = append(w.out.RMS, math.Sqrt(p/float64(n)))
	}
	return &w.out, nil
}
