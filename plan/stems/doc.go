// Package stems turns a sheet into sound: it sums the tracks of every pair sample by sample, writes one stereo file per
// pair, and proves by a null test that the files add up to the mix.
//
// In goes a sheet.Sheet and the folder of its tracks; out come blocks of summed samples (Mix.Open, also the ground of
// package levels), WAV files (Write), and a Null: how far the sum of the files is from a mix, and why.
//
// # What is summed
//
// A stereo track reaches its pair as it is. A mono track goes to both sides with the pan gain of its centre, by default
// sqrt(1/2) each (-3 dB). A mono track that is the left or right half of a split stereo source, as its name and its
// partner's name say, goes to its side at full level. Everything else is refused with advice: more than two channels,
// and sample rates that differ.
//
// Tracks are lined up by the time reference of their bext chunk (EBU Tech 3285): the earliest starts the session; a
// track without one starts with the session. All stems have the length of the session.
//
// # Precision
//
// Sums are made in float64, in the order of the sheet: for each side first the stereo tracks and sides, then the sum of
// the centred mono tracks times the pan gain. Samples of PCM up to 24 bits are multiples of 2^-23, so their sums are
// exact in any order. Float stems round once, to float32, which is exact for such sums up to ±2.0. 24-bit stems round
// once, with triangular dither (TPDF) unless nothing has to be rounded, see Mix.OnGrid. A sample beyond full scale is
// never clipped silently: Write refuses, names tracks and times, and says which gain would fit.
package stems
