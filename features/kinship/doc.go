// Package kinship finds out which tracks are copies, layers, parallels, returns or bleed of one another, from the
// audio alone.
//
// In go blocks of samples and power spectra of one track at a time; a Sketcher reduces them to a Sketch of bounded
// size. Then Relate compares all sketches of a session and gives the pairs that belong together, Sources explains a
// bus or a return as a sum of the others, and Affinity says how strongly any two tracks share one sound.
//
// Waveforms are compared by magnitude-squared coherence (Carter, Knapp and Nuttall, IEEE Trans. Audio
// Electroacoust. AU-21(4), 337-344, 1973) and delays by the generalised cross-correlation with phase transform
// (Knapp and Carter, IEEE Trans. ASSP-24(4), 320-327, 1976), so that two parts played to one tempo grid are not
// taken for one sound; envelopes only propose, waveforms decide, except for doubles, whose waveforms differ by nature.
// All results are the same when a track is multiplied by any gain or turned upside down.
package kinship
