// Package noise computes what limits a receiver: thermal noise, the noise it
// adds itself, and the noise that comes down the antenna.
//
// # Words
//
//   - available power: what a source gives to a matched load, E²/4R; levels in
//     dBm mean it.
//   - noise bandwidth B, in hertz: the width of the ideal filter that passes as
//     much noise as the real one with the same gain at its peak.
//   - noise factor F: noise at the output over what the source's own thermal
//     noise at T0 = 290 K alone would make there; noise figure NF = 10 lg F, dB.
//   - noise temperature Te = T0 (F − 1), in kelvin, of the receiver alone.
//   - (S+N)/N: output with the signal over output without it, what a meter on
//     the output reads; S/N is that less the noise in the numerator.
//   - SINAD: (S+N+D)/(N+D), all of the output over what is not the tone.
//   - MDS: the carrier level at which (S+N)/N of a CW receiver is 3 dB.
//   - m: depth of amplitude modulation, 0 to 1.
//   - external noise factor fa, figure Fa = 10 lg fa: available noise power at
//     the terminals of a lossless antenna over kT0B; Fam is its median.
//
// # Sources
//
// JCGM and CODATA 2019 for k (exact by the definition of the kelvin). Noise
// relations: D. Roddy and J. Coolen, Electronic Communication, 4th ed.;
// G. Kennedy, B. Davis and S. R. M. Prasanna, Electronic Communication Systems,
// 5th ed.; R. Blake, Electronic Communication Systems; their worked examples are
// the tests. External noise: Recommendation ITU-R P.372 (coefficients as in the
// reference source of ITU-R Study Group 3; see testdata/SOURCES.md).
package noise
