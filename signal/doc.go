// Package signal turns sampled sound into numbers with uncertainty: spectra,
// levels, loudness, tones, distortion, hum, and what is wrong with a recording.
//
// # Words
//
//   - sample: one number; full scale is ±1.
//   - frame: the samples of all channels at one moment.
//   - dBFS: level re the rms of a full-scale sine (AES17-2015 3.12.1, read in a
//     secondary source), so that a sine of peak 1 is 0 dBFS and a square wave
//     of peak 1 is +3.01 dBFS.
//   - gap: a place where the samples are not what the input was; no phase and
//     no time is carried over it.
//   - u: one standard uncertainty. Where a name ends in U it is that of the
//     number beside it, in the same unit.
//
// Everything works on streams and holds no whole recording in memory. What is
// read live is fed in blocks to the same types.
package signal
