// Package wire reaches instruments over wires. Here: sound inputs, live.
//
// Words: a path is the way by which samples reach the program: raw samples on
// standard input, the desktop's sound server, a page in a browser. A frame is
// one sample of each channel. A capture is an open path that delivers blocks of
// whole frames. Full scale is ±1; samples are not altered: written again in
// the coding they came in they are the same to the bit.
//
// What a capture owes is honesty. A sample that was lost on the way cannot be
// got back, but it can be told: each block says when it came and what the path
// itself says was lost before it, [Clock] compares the number of frames with
// the clock, and the watcher of package signal looks into the sound.
//
// How far systems are reached: raw samples work wherever a program can write to
// a pipe. The sound server is spoken to in the PulseAudio protocol, which
// PipeWire speaks as well: practically every Linux desktop, and other systems
// where such a server has been installed. Windows and macOS have no such
// server of their own: there the browser page or raw samples are the way.
package wire
