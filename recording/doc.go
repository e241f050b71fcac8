// Package recording reads sound files as streams of samples with honest
// messages about what is wrong with them, and writes them while they grow.
//
// # Words
//
//   - recording: sampled sound with its sample rate.
//   - frame: the samples of all channels at one moment. FLAC calls its coded
//     blocks frames too; here those are "FLAC frames".
//   - container: the bytes that hold one sample; valid bits: how many of them
//     mean something. They stand at the upper end of the container.
//   - chunk: a named part of a WAV file; a metadata block of FLAC is listed
//     as one.
//
// # What is read
//
//   - WAV: RIFF (Microsoft and IBM 1991), its big-endian twin RIFX, RF64 (EBU
//     Tech 3306) and BW64 (ITU-R BS.2088). Integers of 1 to 64 bits (unsigned
//     where the container is one byte), float of 32 and 64 bits, A-law and
//     mu-law (ITU-T G.711).
//   - FLAC (RFC 9639), 4 to 32 bits, with all checksums.
//   - An ID3 tag in front of either.
//
// # What is done about faults
//
// What cannot be trusted is refused with a [Problem]: contradictions in a
// header, numbers that are not finite, a stream that changes its format on the
// way. What is damaged but true as far as it goes is delivered up to the damage,
// and a [Warning] says what is missing. Samples are never made up or mended.
//
// The package touches no disk: it is given something to read from.
package recording
