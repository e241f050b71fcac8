// Package superhet holds the calculations of the superheterodyne bench. This
// part is about levels: how much of a generator's output a receiver gets.
//
// # Words
//
//   - EMF: open-circuit voltage of a source, rms ("hard" microvolts; names from
//     memory). What a sensitivity through a dummy antenna is quoted in.
//   - PD: voltage across the loaded terminals ("soft" microvolts). Into a load
//     equal to the source it is half the EMF, 6.02 dB less.
//   - dBm: always the available power of the source, E²/4R with R the real part
//     of its impedance, whatever load it then meets.
//   - dBµV: a voltage re 1 µV, of EMF or of PD: which must be said.
//   - dummy antenna: a network in series with the generator, so that the
//     receiver sees the impedance of an antenna. It does not change the EMF; it
//     does change PD and available power.
//   - pad: a resistive attenuator. K = 10^(dB/20) is its voltage ratio.
//
// # Sources
//
// Levels: definitions; J. Beasley and G. Miller, Modern Electronic
// Communication, 9th ed., example 3.3. Standard dummy antenna: the network as it
// is described for radio receivers (200 pF, 20 µH, 400 pF, 400 ohm); see
// testdata/SOURCES.md. Pads: J. O. Bird, Electrical Circuit Theory and
// Technology, 2nd ed., chapter 41; D. Roddy and J. Coolen, Electronic
// Communication, 4th ed., section 1.2. Preferred values: IEC 60063. Signal
// meters: IARU Region 1 Technical Recommendation R.1.
package superhet
