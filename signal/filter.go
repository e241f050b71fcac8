package signal

import (
	"math"
	"math/cmplx"
)

// Biquad are the coefficients of a filter section of second order, a0 = 1:
// y(n) = B0·x(n) + B1·x(n−1) + B2·x(n−2) − A1·y(n−1) − A2·y(n−2).
type Biquad struct{ B0, B1, B2, A1, A2 float64 }

// response is the section's response at z on the unit circle, iz = 1/z.
func (b Biquad) response(iz complex128) complex128 {
	num := complex(b.B0, 0) + iz*(complex(b.B1, 0)+iz*complex(b.B2, 0))
	den := 1 + iz*(complex(b.A1, 0)+iz*complex(b.A2, 0))
	return num / den
}

// Filter is a chain of sections with what they remember. It serves one channel;
// [Filter.Fresh] makes one for another.
type Filter struct {
	Sections []Biquad
	RateHz   float64
	FitDB    float64      // greatest difference from the curve it stands for, up to FitToHz; 0 for filters that are exact by definition
	FitToHz  float64      // see FitDB
	state    [][4]float64 // x(n-1), x(n-2), y(n-1), y(n-2) of every section
}

func newFilter(rate float64, sections ...Biquad) *Filter {
	return &Filter{Sections: sections, RateHz: rate, state: make([][4]float64, len(sections))}
}

// Fresh is the same filter that has heard nothing yet.
func (f *Filter) Fresh() *Filter {
	out := *f
	out.state = make([][4]float64, len(f.Sections))
	return &out
}

// Process filters x in place; successive calls continue the same sound.
func (f *Filter) Process(x []float64) {
	if len(f.state) != len(f.Sections) {
		f.state = make([][4]float64, len(f.Sections))
	}
	for i, b := range f.Sections {
		b.process(x, &f.state[i])
	}
}

// tiny is far below anything heard; smaller numbers left in a filter after
// silence only slow the processor down.
const tiny = 1e-100

func (b Biquad) process(x []float64, s *[4]float64) {
	x1, x2, y1, y2 := s[0], s[1], s[2], s[3]
	for i, x0 := range x {
		// What does not wait for y1 comes first.
		y := b.B0*x0 + b.B1*x1 + b.B2*x2 - b.A2*y2 - b.A1*y1
		x2, x1 = x1, x0
		y2, y1 = y1, y
		x[i] = y
	}
	if math.Abs(y1)+math.Abs(y2) < tiny {
		y1, y2 = 0, 0
	}
	*s = [4]float64{x1, x2, y1, y2}
}

// Response is the filter's complex gain at a frequency.
func (f *Filter) Response(hz float64) complex128 {
	iz := cmplx.Exp(complex(0, -2*math.Pi*hz/f.RateHz))
	h := complex(1, 0)
	for _, b := range f.Sections {
		h *= b.response(iz)
	}
	return h
}

// DB is the filter's gain at a frequency in decibels.
func (f *Filter) DB(hz float64) float64 { return 20 * math.Log10(cmplx.Abs(f.Response(hz))) }

// delay is the group delay at a frequency in seconds.
func (f *Filter) delay(hz float64) float64 {
	h := 1e-4 * hz
	turn := cmplx.Phase(f.Response(hz+h) / f.Response(hz-h))
	return -turn / (4 * math.Pi * h)
}

// Filtered is a source of one channel heard through a filter that has heard
// nothing yet. The filter given is not changed.
func Filtered(src Source, f *Filter) Source { return &filtered{src: src, filter: f.Fresh()} }

type filtered struct {
	src    Source
	filter *Filter
}

func (f *filtered) Rate() float64 { return f.src.Rate() }
func (f *filtered) Channels() int { return f.src.Channels() }

func (f *filtered) Read(dst []float64) (int, error) {
	if err := needMono(f.src); err != nil {
		return 0, err
	}
	n, err := f.src.Read(dst)
	f.filter.Process(dst[:n])
	return n, err
}
