package signal

import (
	"context"
	"fmt"
	"io"
	"math"
)

// SpectrogramOptions says what a spectrogram shows; the zero value shows all in
// a picture of 800 by 300.
type SpectrogramOptions struct {
	Columns, Rows int     // 0: 800 and 300
	Frames        int64   // length of the source, 0 if not known
	FromHz, ToHz  float64 // 0, 0: up to half the rate
}

// Spectrogram is density over time and frequency, for a picture.
type Spectrogram struct {
	Columns, Rows int
	ColumnS       float64   // seconds of a column; the first begins at 0
	FromHz, ToHz  float64   // edges of the lowest and highest row
	DB            []float64 // decibels re full-scale² per hertz; column c, row r from below at c·Rows+r; never below SilentDB
}

// SilentDB stands for digital silence in a [Spectrogram].
const SilentDB = -200

const (
	shortestSpectrogramSegment = 64
	longestSpectrogramSegment  = 16384
)

// Spectrogramme makes a spectrogram of a source of one channel with Hann
// windows. With its length known there are as many columns as asked; else from
// so many to twice as many. Memory does not grow with the length.
func Spectrogramme(ctx context.Context, src Source, o SpectrogramOptions, progress func(float64)) (*Spectrogram, error) {
	f, err := newStretchFeed(ctx, src, nil, o.Frames, progress)
	if err != nil {
		return nil, err
	}
	w, err := newSpectrogramWork(src.Rate(), o)
	if err != nil {
		return nil, err
	}
	for {
		n, _, err := f.read(w.buf[w.fill:min(len(w.buf), w.fill+feedBlock)])
		if err == io.EOF {
			return w.spectrogram()
		}
		if err != nil {
			return nil, err
		}
		w.fill += n
		if w.fill == len(w.buf) {
			w.segment()
		}
	}
}

type spectrogramWork struct {
	o      SpectrogramOptions
	rate   float64
	length float64 // frames of a column
	known  bool
	n, hop int
	start  int64 // frame at which buf begins
	window []float64
	buf    []float64
	fill   int
	work   []float64
	fft    *realFFT
	bins   []complex128
	rows   [][]float64 // sums of densities by column
	counts []int
	scale  float64
}

func newSpectrogramWork(rate float64, o SpectrogramOptions) (*spectrogramWork, error) {
	if o.Columns == 0 {
		o.Columns = 800
	}
	if o.Rows == 0 {
		o.Rows = 300
	}
	if o.ToHz == 0 {
		o.ToHz = rate / 2
	}
	o.ToHz = min(o.ToHz, rate/2)
	if o.Columns < 1 || o.Columns > 10_000 || o.Rows < 1 || o.Rows > 10_000 || !(o.FromHz >= 0) || !(o.ToHz > o.FromHz) {
		return nil, fmt.Errorf("signal: a spectrogram of %d by %d from %g to %g Hz, expected 1 to 10000 columns and rows and rising frequencies", o.Columns, o.Rows, o.FromHz, o.ToHz)
	}
	w := &spectrogramWork{o: o, rate: rate, known: o.Frames > 0}
	rowHz := (o.ToHz - o.FromHz) / float64(o.Rows)
	n := int(min(longestSpectrogramSegment, max(shortestSpectrogramSegment, 1.5*rate/rowHz)))
	if w.known {
		w.length = float64(o.Frames) / float64(o.Columns)
		n = int(min(int64(n), max(leastSegment, o.Frames)))
	}
	w.n = smoothLength(n)
	w.hop = w.n / 2
	if w.known { // at least one segment to a column
		w.hop = max(1, min(w.hop, int(w.length)))
	} else {
		w.length = float64(w.hop)
	}
	w.window = Hann.Coefficients(w.n)
	w.buf, w.work = make([]float64, w.n), make([]float64, w.n)
	// The first segment's middle lies in the first column: silence before it.
	w.start = -int64(w.n / 2)
	w.fill = w.n / 2
	w.fft, w.bins = newRealFFT(w.n), make([]complex128, w.n/2+1)
	w.scale = 2 / (rate * sumSquares(w.window))
	return w, nil
}

// segment transforms the full buffer and goes on by a hop.
func (w *spectrogramWork) segment() {
	for i, c := range w.window {
		w.work[i] = w.buf[i] * c
	}
	w.fft.Coefficients(w.bins, w.work)
	w.add(int(float64(w.start+int64(w.n/2)) / w.length))
	w.fill = copy(w.buf, w.buf[w.hop:])
	w.start += int64(w.hop)
}

// add puts the transform into a column.
func (w *spectrogramWork) add(column int) {
	if w.known {
		column = min(column, w.o.Columns-1)
	} else if column >= 2*w.o.Columns {
		w.join()
		column /= 2
	}
	for len(w.rows) <= column {
		w.rows, w.counts = append(w.rows, make([]float64, w.o.Rows)), append(w.counts, 0)
	}
	w.counts[column]++
	df := w.rate / float64(w.n)
	rowHz := (w.o.ToHz - w.o.FromHz) / float64(w.o.Rows)
	for r := range w.rows[column] {
		low := w.o.FromHz + float64(r)*rowHz
		w.rows[column][r] += w.mean(low/df, (low+rowHz)/df) * w.scale
	}
}

// mean is the mean of the squared magnitudes of the bins whose middles lie
// between two places, or of the one nearest to the middle.
func (w *spectrogramWork) mean(from, to float64) float64 {
	first, last := int(math.Ceil(from)), int(math.Ceil(to))-1
	if last < first {
		first = int(math.Round((from + to) / 2))
		last = first
	}
	sum := 0.0
	first, last = min(first, len(w.bins)-1), min(last, len(w.bins)-1)
	for _, c := range w.bins[first : last+1] {
		sum += real(c)*real(c) + imag(c)*imag(c)
	}
	return sum / float64(last-first+1)
}

func (w *spectrogramWork) join() {
	half := w.o.Columns
	for c := range half {
		a, b := w.rows[2*c], w.rows[2*c+1]
		for r := range a {
			a[r] += b[r]
		}
		w.rows[c], w.counts[c] = a, w.counts[2*c]+w.counts[2*c+1]
	}
	w.rows, w.counts = w.rows[:half], w.counts[:half]
	w.length *= 2
}

func (w *spectrogramWork) spectrogram() (*Spectrogram, error) {
	if end := w.start + int64(w.fill); end <= 0 {
		return nil, fmt.Errorf("signal: no samples to make a spectrogram of")
	}
	// Silence after the end, until the last sample has been in a middle.
	for end := w.start + int64(w.fill); w.start+int64(w.n/2) < end || len(w.rows) == 0; {
		clear(w.buf[w.fill:])
		w.segment()
	}
	out := &Spectrogram{Columns: len(w.rows), Rows: w.o.Rows, ColumnS: w.length / w.rate, FromHz: w.o.FromHz, ToHz: w.o.ToHz}
	for c, column := range w.rows {
		for _, p := range column {
			out.DB = append(out.DB, max(SilentDB, 10*math.Log10(p/float64(max(1, w.counts[c])))))
		}
	}
	return out, nil
}
