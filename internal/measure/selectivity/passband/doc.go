// Package passband finds the shape of a selectivity curve from points that
// carry errors: widths at so many decibels down, the middle, ripple, a notch,
// the noise bandwidth, each with its uncertainty.
//
// # Words
//
//   - response: gain in dB, up to a constant. From a constant output it is the
//     input level with its sign turned, from a constant input the output.
//   - edges at D dB: the outermost places where the response is D below its
//     maximum.
//   - captured: how far down the points reach on either side. Nothing beyond the
//     outermost point is ever computed without saying so.
//
// # The fit
//
// The response is fitted by a smoothing spline over the warped frequency
// asinh((f − c)/h), where c and h are a first guess of the middle and of the
// half-width. Far out on the skirts of a chain of tuned circuits the decibels
// fall in proportion to the logarithm of the detuning, which is a straight line
// on that scale; the bend lies where the passband ends. A cubic smoothing spline
// is the mean of an integrated random walk seen through noise (Wahba 1978,
// J. R. Statist. Soc. B 40, from memory), so that the same model gives the
// uncertainty between the points too: fewer points, wider bands. How
// rough the curve and how large the reading errors are is taken from the
// points, and what they do not say about that widens the figures.
package passband
