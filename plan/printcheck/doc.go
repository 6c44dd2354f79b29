// Package printcheck compares a mix with its print: the recording of what came back from the summing unit.
//
// In go two files, out comes a Result: how late, loud, fast and which way round the print is; what the chain changed, third
// octave by third octave, with its confidence; how much of that a linear filter explains; what it added; and the claims
// of the trade that can be tested, each with its figures. Nothing is assumed of the two but that they hold the same music:
// the print may begin or end anywhere, run at another rate, be cut or have gaps.
//
//	source.go    both files, read at any place; the print on the mix's clock
//	outline.go   the course of the level, from which
//	place.go     the print's place on the mix follows to 10 ms
//	anchor.go    short stretches placed to a fraction of a sample, by generalized cross-correlation
//	track.go     anchors to segments: one speed, edits between them
//	edits.go     lost stretches, and the frame at which an edit lies
//	refine.go    speed and places again, by phase
//	align.go     the course of all these
//	spectra.go   first pass over the aligned files: averaged spectra, exact correlations
//	response.go  the linear path: delay behind its phase
//	level.go     the linear path: gain, third octaves, their confidence
//	fit.go       the best linear fit
//	residual.go  second pass: what the fit leaves, seen by
//	             curve, polynomial, texture, hum, events, envelope
//	claims.go    what the trade says of such chains, tested
//	excerpt.go   aligned and level-matched excerpts to listen to
//
// Memory does not grow with the length of the song but for some bytes per 10 ms.
//
// Sources: Knapp and Carter, IEEE Trans. ASSP-24(4), 1976 (cross-correlation); Bode 1945 and Oppenheim and Schafer (minimum
// phase); IEC 61260-1:2014 (third octaves); ITU-R BS.1770-5 and EBU Tech 3342 (loudness); IEC 61672-1:2013 (A weighting);
// Tukey 1958 (jackknife). The tests name what each figure is held against.
package printcheck
