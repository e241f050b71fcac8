// Package stability turns a record of an oscillator's frequency into the
// figures that describe how it warms up and how steady it is afterwards.
//
// # Words
//
// Frequency nu(t) is what a counter shows, in hertz; nu0 is the nominal or
// reference frequency it is compared with.
//
// Fractional frequency y(t) = (nu(t) - nu0)/nu0 has no unit; 1e-6 of it is one
// part per million. Time deviation, or phase in units of time, is
// x(t) = phi(t)/(2 pi nu0) in seconds, and y is its rate of change. A clock run
// by the oscillator is fast by x.
//
// An offset is measured less nominal: a set whose oscillator is too high has a
// positive offset. For the dial of a receiver the sign turns with the side of
// the injection, so none but [Injection] speaks of the dial.
//
// tau0 is the spacing of the readings in seconds; tau = m tau0 is an averaging
// time, m the averaging factor. Each reading is taken to be the mean over a whole
// tau0, one following the other. A counter that pauses between its gates has
// dead time, for which nothing here corrects: it does no harm in white frequency
// noise beyond treating the gate as if it were tau0, and more in other noise.
//
// Drift is the part of a change that has a direction: a curve one could draw
// beforehand. Random variation is the rest. Ageing is drift from inside the
// parts with the surroundings held still; a receiver that warms up drifts, it
// does not age. The Allan kinds of deviation take a steady drift in
// (sigma = D tau / sqrt 2), the Hadamard kinds are blind to it.
//
// The warm-up curve is frequency against time since power-on, from cold. A set
// has settled to a band at the last moment its frequency was outside that band
// round its closing value, not at the first moment it came inside: a curve with
// two time constants can cross its end and leave again. Being within a band of
// one's own end is not yet being settled, if the end itself still moves.
//
// A jump is a step of the oscillator that the smooth curve cannot explain: a
// bad joint, a slipping dial, a failing capacitor. A slip is a fault of the
// counting: a digit out, half or double. Jumps belong to the set and are
// reported with it; slips are set aside, listed, and never deleted.
//
// # Which input each estimator wants
//
// Warm-up fits, settling, residual drift and jumps want times and frequencies
// as they were read, evenly spaced or not. Everything that is a function of
// tau wants an even record without a guess in it, a [Phase]:
//
//   - [FromReadings] takes times and readings from a bench log, finds the pace
//     and the gaps, refuses uneven ones and fewer than 30;
//   - [FromFrequency] takes readings already on an even grid, NaN where missing;
//   - [NewPhase] takes time deviations in seconds, NaN where missing.
//
// From a Phase, [Deviations] gives one kind of deviation and [DeviationsOf]
// several in one walk. Take the overlapping Allan deviation by default; the
// modified one to tell white from flicker phase noise at short tau; the
// Hadamard where a steady drift hides the noise; the total for the longest tau;
// the time deviation for how far a clock wanders. Readings in hertz give
// deviations in hertz.
//
// # Gaps
//
// A difference is used only if every reading in its whole span is present. Over
// a gap nothing is interpolated, and phase is not carried across it. The number
// of terms and the degrees of freedom are those of the differences used; terms
// on two sides of a gap share no reading and count as independent. The total
// kinds extend each stretch between gaps by its own reflection.
//
// # Intervals
//
// The square of a deviation is taken as chi-squared with equivalent degrees of
// freedom: the exact sum of Greenhall and Riley for the kinds that are plain
// differences, published fits for the total kinds. It depends on the type of
// noise, a power law S_y(f) = h f^alpha, which is identified from the record
// (see [NoiseBy] for the order of methods) or given.
//
// # Sources
//
//   - W. J. Riley, Handbook of Frequency Stability Analysis, NIST Special
//     Publication 1065, July 2008 (SP 1065): formulas of the deviations, edf of
//     the total kinds, test values on pp. 107-108. Known here through programs
//     that quote it; its formulas were recalled and each is held by the
//     published value it reproduces.
//   - IEEE Std 1139-2008, definitions of physical quantities for fundamental
//     frequency and time metrology: names and signs.
//   - C. A. Greenhall and W. J. Riley, Uncertainty of stability variances based
//     on finite differences, 35th PTTI Meeting, 2003: degrees of freedom.
//   - W. J. Riley and C. A. Greenhall, Power law noise identification using the
//     lag 1 autocorrelation, 18th EFTF, 2004.
//   - C. A. Greenhall, D. A. Howe and D. B. Percival, Total variance, an
//     estimator of long-term frequency stability, IEEE Trans. UFFC 46, 1999.
//
// Doubt: one program that quotes SP 1065 prints the simple formula for the
// degrees of freedom in flicker FM at m = 1 without its square, which gives 0.87
// where the exact sum gives 895. The exact sum is used here throughout.
package stability
