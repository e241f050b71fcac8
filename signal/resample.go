package signal

import (
	"errors"
	"fmt"
	"io"
	"math"

	"gonum.org/v1/gonum/floats"
)

// Resample returns the source at another sample rate, any ratio of rates from
// 1/4096 to 4096, whole or not. Frame k of the result is the sound at k/toHz
// seconds after frame 0 of src; the last one is not later than src's last.
//
// The filter is a sinc with a Kaiser window, without phase error. With f the
// lower of the two rates, what lies up to 0.45 f passes with a ripple below
// 0.0001 dB; what lies from 0.5 f on, images and aliases included, is down by
// 120 dB or more. It takes 78/f seconds on either side: so much at the
// beginning and the end of the result is as if silence stood around src.
func Resample(src Source, toHz float64) (Source, error) {
	rate := src.Rate()
	if ratio := toHz / rate; !(ratio >= 1.0/4096 && ratio <= 4096) {
		return nil, fmt.Errorf("signal: cannot resample from %v Hz to %v Hz; expected a ratio from 1/4096 to 4096", rate, toHz)
	}
	if toHz == rate {
		return src, nil
	}
	k := newResampleKernel(rate, toHz)
	r := &resampled{src: src, to: toHz, kernel: k, base: -int64(k.half) + 1, total: -1}
	r.window = make([][]float64, src.Channels())
	for c := range r.window {
		r.window[c] = make([]float64, k.half-1) // silence in front
	}
	return r, nil
}

// resampled is a source at another rate.
type resampled struct {
	src    Source
	to     float64
	kernel *resampleKernel

	window [][]float64 // input of each channel
	base   int64       // frame of src that the windows begin at
	from   int         // frames of the windows that are done with
	total  int64       // frames of src, −1 until its end
	next   int64       // frame to deliver
	block  []float64
	err    error // of src
}

func (r *resampled) Rate() float64 { return r.to }
func (r *resampled) Channels() int { return r.src.Channels() }

func (r *resampled) Read(dst []float64) (int, error) {
	c := len(r.window)
	if len(dst) < c {
		return 0, io.ErrShortBuffer
	}
	n := 0
	for ; n < len(dst)/c; n++ {
		at := r.kernel.place(r.next)
		if err := r.reach(at.frame); err != nil {
			if n > 0 {
				break
			}
			return 0, err
		}
		first := int(at.frame - int64(r.kernel.half) + 1 - r.base)
		for ch, w := range r.window {
			dst[n*c+ch] = r.kernel.sum(w[first:], at)
		}
		r.from = first
		r.next++
	}
	return n, nil
}

// reach reads on until the windows hold all that a frame near frame needs.
// Behind the end stands silence. The error is io.EOF where no frame is left.
func (r *resampled) reach(frame int64) error {
	need := frame + int64(r.kernel.half) + 1
	for r.base+int64(len(r.window[0])) < need && r.total < 0 {
		if r.err != nil {
			return r.err
		}
		r.more()
	}
	if r.total >= 0 && !r.kernel.within(r.next, r.total) {
		return io.EOF
	}
	return nil
}

// more appends a block to the windows, and silence at the end.
func (r *resampled) more() {
	c := len(r.window)
	if r.block == nil {
		r.block = make([]float64, 4096*c)
	}
	r.compact()
	n, err := r.src.Read(r.block)
	for ch := range r.window {
		for i := range n {
			r.window[ch] = append(r.window[ch], r.block[i*c+ch])
		}
	}
	switch {
	case errors.Is(err, io.EOF):
		r.total = r.base + int64(len(r.window[0]))
		for ch := range r.window {
			r.window[ch] = append(r.window[ch], make([]float64, r.kernel.half+1)...)
		}
	case err != nil:
		r.err = err
	}
}

// compact drops what is done with once that is most of the windows.
func (r *resampled) compact() {
	if r.from < len(r.window[0])/2 {
		return
	}
	for ch, w := range r.window {
		r.window[ch] = w[:copy(w, w[r.from:])]
	}
	r.base += int64(r.from)
	r.from = 0
}

// Design of the filter, in units of the lower rate.
const (
	resampleStopDB = 120
	resamplePass   = 0.45
	resampleStop   = 0.5
	// resampleHalf is half the filter's length (Kaiser 1974, as in every
	// textbook: (A - 7.95)/(14.36 Δf) taps for A dB and a transition Δf wide).
	resampleHalf = 78.5
	// resamplePhases is how many phases there are to an input sample, or to a
	// sample at the lower rate if that is longer, where a phase has to be found
	// between two: a straight line between 2048 is off by less than -130 dB.
	resamplePhases = 2048
)

// resampleLimit is the number of coefficients up to which every phase of a
// rational ratio has a row of its own.
const resampleLimit = 1 << 20

// resampleKernel holds the coefficients by phase.
type resampleKernel struct {
	half   int         // taps on either side
	rows   [][]float64 // row p is for a fraction p/phases of an input sample
	phases int
	exact  bool  // a rational ratio, every phase in a row of its own
	up     int64 // exact: rate times up/down
	down   int64
	step   float64 // input samples to an output sample
}

// resamplePlace is where a frame of the result lies in the input.
type resamplePlace struct {
	frame    int64 // the input frame not after it
	row      int
	fraction float64 // from this row to the next
}

func newResampleKernel(from, to float64) *resampleKernel {
	slower := min(1, to/from) // the lower rate over the rate of the input
	k := &resampleKernel{half: int(math.Ceil(resampleHalf / slower)), step: from / to}
	k.phases = max(int(math.Ceil(resamplePhases*slower)), 1)
	rows := k.phases + 1
	if up, down, ok := rational(to / from); ok && up*int64(2*k.half) <= resampleLimit {
		k.exact, k.up, k.down, k.phases, rows = true, up, down, int(up), int(up)
	}
	k.rows = make([][]float64, rows)
	response := resampleResponse(k.half, k.phases, slower)
	for p := range k.rows {
		k.rows[p] = resampleRow(response, p, k.phases, k.half)
	}
	return k
}

// rational finds the ratio of two whole numbers below a million that x is, to
// the accuracy of a float, by continued fraction.
func rational(x float64) (up, down int64, ok bool) {
	up0, down0, up1, down1 := int64(0), int64(1), int64(1), int64(0)
	for rest := x; up1 < 1e6 && down1 < 1e6; {
		whole := math.Floor(rest)
		if whole >= 1e6 {
			break
		}
		up0, up1 = up1, int64(whole)*up1+up0
		down0, down1 = down1, int64(whole)*down1+down0
		if math.Abs(float64(up1)/float64(down1)-x) <= 4e-16*x {
			return up1, down1, up1 < 1e6 && down1 < 1e6
		}
		rest = 1 / (rest - whole)
	}
	return 0, 0, false
}

// resampleResponse is half the impulse response, which is even, at so many
// phases to an input sample.
func resampleResponse(half, phases int, slower float64) []float64 {
	const cut = resamplePass + resampleStop // twice the middle of the transition
	beta := 0.1102 * (resampleStopDB - 8.7) // Kaiser 1974
	out := make([]float64, half*phases+1)
	for i := range out {
		t := float64(i) / float64(phases) * slower
		if x := t / resampleHalf; x < 1 {
			out[i] = sinc(cut*t) * bessel0(beta*math.Sqrt(1-x*x)) // Kaiser's window
		}
	}
	return out
}

// resampleRow is the filter for a frame that lies p phases after an input
// frame: its taps are for the input from half-1 before that frame to half after
// it. The sum is made 1.
func resampleRow(response []float64, p, phases, half int) []float64 {
	row := make([]float64, 2*half)
	for i := range row {
		at := p + (half-1-i)*phases
		row[i] = response[max(at, -at)]
	}
	floats.Scale(1/floats.Sum(row), row)
	return row
}

// place finds frame n of the result in the input.
func (k *resampleKernel) place(n int64) resamplePlace {
	if k.exact {
		// In two parts, for n*down may not fit.
		turns, n := n/k.up, n%k.up
		return resamplePlace{frame: turns*k.down + n*k.down/k.up, row: int(n * k.down % k.up)}
	}
	at := float64(n) * k.step
	frame := math.Floor(at)
	row, fraction := math.Modf((at - frame) * float64(k.phases))
	return resamplePlace{int64(frame), int(row), fraction}
}

// within says whether frame n of the result is not later than the last of
// total frames of the input.
func (k *resampleKernel) within(n, total int64) bool {
	at := k.place(n)
	return at.frame < total-1 || at.frame == total-1 && at.row == 0 && at.fraction == 0
}

// sum applies a row to the input that begins half-1 before the place, or what
// lies between two rows.
func (k *resampleKernel) sum(x []float64, at resamplePlace) float64 {
	y := dotProduct(k.rows[at.row], x)
	if at.fraction > 0 {
		y += at.fraction * (dotProduct(k.rows[at.row+1], x) - y)
	}
	return y
}

// dotProduct has four sums under way, which do not wait for each other.
func dotProduct(row, x []float64) float64 {
	x = x[:len(row)]
	var a, b, c, d float64
	i := 0
	for ; i+4 <= len(row); i += 4 {
		r, v := (*[4]float64)(row[i:]), (*[4]float64)(x[i:])
		a += r[0] * v[0]
		b += r[1] * v[1]
		c += r[2] * v[2]
		d += r[3] * v[3]
	}
	for ; i < len(row); i++ {
		a += row[i] * x[i]
	}
	return (a + b) + (c + d)
}
