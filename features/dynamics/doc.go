// Package dynamics measures how a track moves in time: level, crest, gaps, onsets, attack, decay, tonality, VU.
//
// In go blocks of samples (Meter.Write, one plane per channel) and the power spectra of overlapping frames of the
// same sound (Meter.Frame); out comes a Result: levels in dB re full scale, times in seconds, shares from 0 to 1.
// Memory does not depend on duration, nothing is allocated while measuring, and the result does not depend on how
// the sound was cut into blocks.
//
// The sound is read on three time scales, all counted in samples from the start of the track:
//
//	cell   about 1 ms   peak, sums, rectified mean: the only loop at full rate (cell.go), the VU needle (vu.go)
//	step   5 cells      energy envelope: onsets, attack, decay (events.go)
//	stretch 50 cells    gate, noise floor (gate.go)
//
// and the frames (about 43 ms apart) give the spectral flux (flux.go) and the tonality (tonality.go).
//
// Sources: IEC 60268-17:1990 (VU), Boeck and Widmer, "Maximum filter vibrato suppression for onset detection", DAFx-13,
// 2013 (flux), FitzGerald, "Harmonic/percussive separation using median filtering", DAFx-10, 2010 (tonality), Peeters,
// "A large set of audio features for sound description", IRCAM 2004 (attack and decay by thresholds). Values chosen by
// experiment say so where they stand.
package dynamics
