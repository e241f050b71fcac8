// Package quantity carries numbers together with what is not known about them.
//
// # Words
//
//   - estimate: the best value of a quantity.
//   - source: one independent cause of uncertainty, named and identified by a
//     stable id: what it is, of which instrument, of which calibration, and in
//     which cell of range and frequency its error may be taken as common. Two
//     values that name the same source err together.
//   - standard contribution c: the signed change of the estimate that one
//     standard deviation of a source brings. The sign matters: it is what lets
//     errors that two values share cancel in their difference.
//   - standard uncertainty u = sqrt(Σ c²), the sources being independent.
//   - degrees of freedom: how well a source's standard deviation is itself
//     known; infinite unless stated.
//
// A [Value] is immutable. Arithmetic propagates to first order (JCGM 100:2008,
// GUM, 5.1.2 eq. 10), one signed contribution per source, so correlation needs
// no special case (GUM 5.2). Expanded uncertainty uses the effective degrees
// of freedom of the Welch-Satterthwaite formula (GUM G.4.1, eq. G.2b).
//
// What people type becomes base units at the door ([Parse], [ParseAs]) and gets
// prefixes back at the window ([Format], [FormatOutcome], [ScaleFor]). Units are
// rows of one table.
//
// Where first order fails (last exits, maxima, ratios near zero) the
// computation that makes the figure runs a seeded Monte Carlo and reports an
// interval; see [Outcome].
package quantity
