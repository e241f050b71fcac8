package stability

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// Reasons why a fit or a slope is not given. NotGivenError wraps one of them.
var (
	// ErrTooFewReadings stands for fewer usable readings than the fit needs.
	ErrTooFewReadings = errors.New("too few readings")
	// ErrRecordTooShort stands for a record that does not cover two time
	// constants of the slowest part it shows.
	ErrRecordTooShort = errors.New("record too short")
	// ErrBadReadings stands for input no figure can be made from.
	ErrBadReadings = errors.New("unusable readings")
	// ErrSettledTooShort stands for a settled part shorter than 15 min.
	ErrSettledTooShort = errors.New("settled part too short")
)

// NotGivenError says why a figure is absent: what was found and what was
// expected, in words for the person at the bench.
type NotGivenError struct {
	Figure   string // what is not given
	Found    string
	Expected string
	Kind     error // one of the Err values above
}

func (e *NotGivenError) Error() string {
	return fmt.Sprintf("%s not given (%v): found %s, expected %s", e.Figure, e.Kind, e.Found, e.Expected)
}

// Unwrap returns the kind, for errors.Is.
func (e *NotGivenError) Unwrap() error { return e.Kind }

// Loss is what the fit makes small.
type Loss int

const (
	// Huber is quadratic up to 2 robust standard deviations and linear beyond:
	// a counter slip pulls no harder than an ordinary reading at the knee. At 2
	// it keeps 99 % of the efficiency of least squares on normal noise (Huber
	// 1964; the usual 1.345 keeps 95 %).
	Huber Loss = iota
	// LeastSquares weighs all readings alike.
	LeastSquares
)

// Step is a jump of the frequency: every reading at or after AtS is SizeHz
// higher than it would have been. UHz is the standard uncertainty of the size.
type Step struct {
	AtS, SizeHz, UHz float64
}

// WarmUpOptions chooses how a warm-up is fitted. The zero value is the rule of
// the drift measurement.
type WarmUpOptions struct {
	Terms   []int   // numbers of exponentials tried; nil for 0, 1 and 2
	NoLine  bool    // leave the straight line out
	Loss    Loss    // Huber unless said otherwise
	ScaleHz float64 // standard deviation the Huber knee is counted in; 0: from the residuals' median absolute deviation
	TRefS   float64 // time at which the straight line's value is Limit; 0: the last reading
	Steps   []Step  // jumps to take out before fitting
}

// Term is one exponential, A·exp(−(t − T0)/Tau).
type Term struct {
	AmplitudeHz, UAmplitudeHz float64
	TauS, UTauS               float64
	DoF                       float64 // degrees of freedom of UTauS
}

// Candidate is one number of terms tried.
type Candidate struct {
	Terms    int
	AICc     float64 // corrected information criterion on the effective number of points; smaller is better
	SigmaHz  float64
	TausS    []float64
	Rejected string // why it could not be chosen, else empty
}

// WarmUp is a fitted warm-up curve
//
//	f(t) = Limit + Slope·(t − TRef) + Σ A_k·exp(−(t − T0)/tau_k),  k ≤ 2
//
// with t in seconds and f in hertz (or any unit; the names say hertz).
type WarmUp struct {
	T0S, TRefS, EndS float64 // first reading, reference of the line, last reading
	LimitHz          float64 // the line at TRefS, the exponentials gone
	SlopeHzPerS      float64
	Terms            []Term // fastest first

	// Cov is the covariance of (Limit, Slope, A_1.., ln tau_1..) under the
	// correlation the residual has; CovIndependent the classical one, which
	// takes readings as independent (and is too small when they aren't). With
	// NoLine the rows of Slope are zero.
	Cov, CovIndependent [][]float64

	SigmaHz    float64 // standard deviation of the residual, degrees of freedom taken off
	Robust     bool    // fitted with the Huber loss
	ScaleHz    float64 // robust scale the knee was counted in
	N          int     // readings used
	SpacingS   float64 // median spacing
	Effective  float64 // effective number of independent points
	SetAside   []int   // indices of gross slips that were given no weight
	Limited    []int   // indices of further readings beyond the Huber knee
	Weights    []float64
	Residuals  []float64 // reading − curve, at every reading
	Candidates []Candidate
	Iterations int
	Warnings   []string
	Noise      Noise // model of the residual, see Noise

	// Degrees of freedom of the standard uncertainties of Limit and Slope: what
	// the noise is like is itself uncertain.
	DoFLimit, DoFSlope float64

	noLine bool
	fitter *WarmUpFitter
	fit    wuFit
}

// FitWarmUp fits the readings f at times t (seconds, increasing or equal; the
// same length) by separable least squares: for given time constants amplitudes
// and line are solved exactly by orthogonal factors, and Levenberg-Marquardt
// moves the logarithms of the time constants with the analytic Jacobian of
// Kaufman (BIT 15 (1975) 49; variable projection: Golub and Pereyra, SIAM J.
// Numer. Anal. 10 (1973) 413), from the best points of a grid.
//
// The number of terms is chosen by the corrected information criterion
// AICc = N·ln(S/N) + 2k + 2k(k+1)/(N − k − 1) (Hurvich and Tsai, Biometrika 76
// (1989) 297) with k the number of constants fitted plus one for the scale of the noise. N
// counts effectively independent points: the residual is averaged in N cells and
// whitened by its own correlation (the heaviest model of the Noise of the largest candidate), S
// being its generalised sum of squares with the constants adjusted to that
// correlation. Counting n_eff of the raw residual instead would refuse a 300 Hz
// exponential in 1 Hz of random walk, of whose level there are few independent
// readings, but of whose steps many. A further exponential must be better by 4 a
// term: with no exponential in the record its time constant is free to follow
// any wave, which 2 a constant does not pay for (with 4, one
// record in a hundred of white noise shows one, one in ten of flicker or random walk).
//
// It needs 12 readings over at least two time constants; else the error is a
// *NotGivenError.
func FitWarmUp(ctx context.Context, t, f []float64, opt WarmUpOptions) (WarmUp, error) {
	fitter, err := NewWarmUpFitter(t, opt)
	if err != nil {
		return WarmUp{}, err
	}
	return fitter.Fit(ctx, f)
}

// WarmUpFitter fits many records read at the same times: what depends on the
// times alone is worked out once. It is safe for concurrent use.
type WarmUpFitter struct {
	t     []float64
	opt   WarmUpOptions
	basis *wuBasis
	group int // readings averaged into one point of the basis
}

// wuMaxPoints is the most points the fit works on: longer records are averaged
// in groups first. The loss is below 1e-3 of an amplitude even for a time
// constant of a few groups, and nothing for the others.
const wuMaxPoints = 16384

// NewWarmUpFitter prepares for records with readings at times t.
func NewWarmUpFitter(t []float64, opt WarmUpOptions) (*WarmUpFitter, error) {
	if err := wuCheckTimes(t); err != nil {
		return nil, err
	}
	group := (len(t) + wuMaxPoints - 1) / wuMaxPoints
	return &WarmUpFitter{t: t, opt: opt, group: group, basis: newWuBasis(wuGroup(t, group))}, nil
}

// Fit fits one record.
func (w *WarmUpFitter) Fit(ctx context.Context, f []float64) (WarmUp, error) {
	y, err := w.prepare(f)
	if err != nil {
		return WarmUp{}, err
	}
	cands, err := w.candidates(ctx, y)
	if err != nil {
		return WarmUp{}, err
	}
	best, err := wuChoose(cands, w.span())
	if err != nil {
		return WarmUp{}, err
	}
	return w.result(y, cands, best), nil
}

func (w *WarmUpFitter) span() float64 { return w.t[len(w.t)-1] - w.t[0] }

// prepare checks the readings and returns them with the steps taken out.
func (w *WarmUpFitter) prepare(f []float64) ([]float64, error) {
	if len(f) != len(w.t) {
		return nil, &NotGivenError{"warm-up fit", fmt.Sprintf("%d frequencies for %d times", len(f), len(w.t)), "one for each", ErrBadReadings}
	}
	y := make([]float64, len(f))
	for i, v := range f {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, &NotGivenError{"warm-up fit", fmt.Sprintf("%v at reading %d", v, i+1), "a number", ErrBadReadings}
		}
		y[i] = v - stepsBefore(w.opt.Steps, w.t[i])
	}
	return y, nil
}

// stepsBefore is the sum of the steps that have happened by time t.
func stepsBefore(steps []Step, t float64) float64 {
	sum := 0.0
	for _, s := range steps {
		if t >= s.AtS {
			sum += s.SizeHz
		}
	}
	return sum
}

func wuCheckTimes(t []float64) error {
	const need = 12
	if len(t) < need {
		return &NotGivenError{"warm-up fit", fmt.Sprintf("%d readings", len(t)), fmt.Sprintf("at least %d", need), ErrTooFewReadings}
	}
	for i, v := range t {
		if math.IsNaN(v) || math.IsInf(v, 0) || i > 0 && v < t[i-1] {
			return &NotGivenError{"warm-up fit", fmt.Sprintf("time %v at reading %d", v, i+1), "times that do not run backwards", ErrBadReadings}
		}
	}
	if t[len(t)-1] == t[0] {
		return &NotGivenError{"warm-up fit", "all readings at one time", "a record with some length", ErrRecordTooShort}
	}
	return nil
}

// wuGroup averages x in groups of m; a rest shorter than m makes a last group.
func wuGroup(x []float64, m int) []float64 {
	if m <= 1 {
		return x
	}
	out := make([]float64, 0, len(x)/m+1)
	for i := 0; i < len(x); i += m {
		end := min(i+m, len(x))
		sum := 0.0
		for _, v := range x[i:end] {
			sum += v - x[i]
		}
		out = append(out, x[i]+sum/float64(end-i))
	}
	return out
}
