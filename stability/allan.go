package stability

import (
	"fmt"
	"math"
	"strings"
)

// Kind is one of the two-sample (or three-sample) deviations.
type Kind int

// The kinds of deviation; formulas in NIST SP 1065 (2008), chapter 5.
const (
	KindAllan               Kind = iota // non-overlapping Allan deviation, ADEV
	KindOverlappingAllan                // overlapping Allan deviation, OADEV: the usual choice
	KindModifiedAllan                   // modified Allan deviation, MDEV: tells white from flicker phase noise
	KindTime                            // time deviation, TDEV = tau MDEV / sqrt(3), in seconds
	KindHadamard                        // non-overlapping Hadamard deviation, HDEV: blind to a steady drift
	KindOverlappingHadamard             // overlapping Hadamard deviation, OHDEV
	KindTotal                           // total deviation, TOTDEV: tighter at the longest tau
	KindModifiedTotal                   // modified total deviation, MTOTDEV
	KindTimeTotal                       // time total deviation, TTOTDEV, in seconds
	KindHadamardTotal                   // Hadamard total deviation, HTOTDEV
)

var devKindNames = [...]string{"plain", "overlapping", "modified", "time", "hadamard",
	"overlapping_hadamard", "total", "modified_total", "time_total", "hadamard_total"}

// String is the id of the kind as it stands in conditions and JSON.
func (k Kind) String() string {
	if k < 0 || int(k) >= len(devKindNames) {
		return fmt.Sprintf("kind(%d)", int(k))
	}
	return devKindNames[k]
}

// ParseKind is the inverse of [Kind.String].
func ParseKind(id string) (Kind, error) {
	for k, name := range devKindNames {
		if name == id {
			return Kind(k), nil
		}
	}
	return 0, fmt.Errorf("deviation %q is not known; expected one of %s", id, strings.Join(devKindNames[:], ", "))
}

// KindNames returns the ids of all kinds, in order.
func KindNames() []string { return append([]string(nil), devKindNames[:]...) }

// differences is the order d of the difference of phase the kind rests on: 2
// in the Allan family, 3 in the Hadamard family.
func (k Kind) differences() int {
	switch k {
	case KindHadamard, KindOverlappingHadamard, KindHadamardTotal:
		return 3
	}
	return 2
}

func (k Kind) modified() bool {
	switch k {
	case KindModifiedAllan, KindTime, KindModifiedTotal, KindTimeTotal:
		return true
	}
	return false
}

// total says whether the kind extends the record by reflection.
func (k Kind) total() bool { return k >= KindTotal }

// parent is the kind without reflection that a total kind estimates too.
func (k Kind) parent() Kind {
	switch k {
	case KindTotal:
		return KindOverlappingAllan
	case KindModifiedTotal:
		return KindModifiedAllan
	case KindTimeTotal:
		return KindTime
	case KindHadamardTotal:
		return KindOverlappingHadamard
	}
	return k
}

// inTime says whether the deviation is a time in seconds, not a fraction.
func (k Kind) inTime() bool { return k == KindTime || k == KindTimeTotal }

// Deviation is one point of a stability plot, with what is needed to trust it.
type Deviation struct {
	Kind  Kind
	TauS  float64 // averaging time tau = M tau0, s
	M     int     // averaging factor
	Value float64 // the deviation: a fraction (or the unit of the readings), for the time kinds seconds
	Lo    float64 // limits of the interval for the true deviation
	Hi    float64
	Level float64 // confidence of the interval, 0.95 unless asked otherwise
	EDF   float64 // equivalent degrees of freedom of Value squared
	N     int     // number of differences (terms) in the mean
	Noise PowerLaw
	// NoiseBy says how Noise was found; NoiseM is the factor at which.
	NoiseBy NoiseBy
	NoiseM  int
	// Bias is what the mean square was divided by so that the total kinds
	// estimate the same quantity as their parents; 1 for all others.
	Bias float64
}

// AllanDeviation is sigma_y(tau) from adjacent averages (ADEV):
// sqrt( sum (z(k+2) - 2 z(k+1) + z(k))^2 / (2 tau^2 K) ), z every m-th point.
// After a gap the count of every m-th point starts anew. For the interval see
// [Deviations]; source NIST SP 1065 (2008), chapter 5.
func AllanDeviation(p Phase, m int) (Deviation, error) { return devOne(KindAllan, p, m) }

// OverlappingAllanDeviation is sigma_y(tau) from all second differences
// x(i+2m) - 2 x(i+m) + x(i) (OADEV). Source: NIST SP 1065 (2008), chapter 5.
func OverlappingAllanDeviation(p Phase, m int) (Deviation, error) {
	return devOne(KindOverlappingAllan, p, m)
}

// ModifiedAllanDeviation is Mod sigma_y(tau) (MDEV): second differences of
// phase averaged over m points. Source: NIST SP 1065 (2008), chapter 5.
func ModifiedAllanDeviation(p Phase, m int) (Deviation, error) {
	return devOne(KindModifiedAllan, p, m)
}

// TimeDeviation is sigma_x(tau) = tau Mod sigma_y(tau) / sqrt(3), in seconds
// (TDEV). Source: NIST SP 1065 (2008), chapter 5.
func TimeDeviation(p Phase, m int) (Deviation, error) { return devOne(KindTime, p, m) }

// HadamardDeviation is H sigma_y(tau) from every m-th point (HDEV): third
// differences, so a frequency that drifts along a straight line gives zero.
// Source: NIST SP 1065 (2008), chapter 5.
func HadamardDeviation(p Phase, m int) (Deviation, error) { return devOne(KindHadamard, p, m) }

// OverlappingHadamardDeviation is H sigma_y(tau) from all third differences
// (OHDEV). Source: NIST SP 1065 (2008), chapter 5.
func OverlappingHadamardDeviation(p Phase, m int) (Deviation, error) {
	return devOne(KindOverlappingHadamard, p, m)
}

// TotalDeviation extends each stretch at both ends by odd reflection (TOTDEV).
// Source: NIST SP 1065 (2008), chapter 5.
func TotalDeviation(p Phase, m int) (Deviation, error) { return devOne(KindTotal, p, m) }

// ModifiedTotalDeviation extends every run of 3m points by even reflection
// (MTOTDEV). Its divisor is the handbook's, one for all m: below m = 8 the value
// comes out low (by 17 % at m = 1 in white frequency noise), so take MDEV there.
// Source: NIST SP 1065 (2008), chapter 5.
func ModifiedTotalDeviation(p Phase, m int) (Deviation, error) {
	return devOne(KindModifiedTotal, p, m)
}

// TimeTotalDeviation is tau MTOTDEV / sqrt(3), in seconds (TTOTDEV). Source:
// NIST SP 1065 (2008), chapter 5.
func TimeTotalDeviation(p Phase, m int) (Deviation, error) { return devOne(KindTimeTotal, p, m) }

// HadamardTotalDeviation extends every run of 3m frequency averages (HTOTDEV);
// at m = 1 it is OHDEV. Source: NIST SP 1065 (2008), chapter 5.
func HadamardTotalDeviation(p Phase, m int) (Deviation, error) {
	return devOne(KindHadamardTotal, p, m)
}

func devOne(k Kind, p Phase, m int) (Deviation, error) {
	d, err := Deviations(k, p, m)
	if err != nil {
		return Deviation{}, err
	}
	return d[0], nil
}

// scale turns a mean square difference at factor m into the value of the kind.
func (k Kind) scale(meanSquare, tauS float64) float64 {
	v := math.Sqrt(meanSquare) / tauS
	if k.differences() == 3 {
		v /= math.Sqrt(6)
	} else {
		v /= math.Sqrt2
	}
	if k.inTime() {
		v *= tauS / math.Sqrt(3)
	}
	return v
}
