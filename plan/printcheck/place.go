package printcheck

import (
	"cmp"
	"math"
	"slices"

	"foldout/features/fft"
)

// Placing: which stretch of the print belongs to which stretch of the mix, to about 10 ms.
//
// The shorter file is cut into pieces; each is correlated with the whole of the longer one, by the change of level in
// bands. The correlations of the pieces are added along lines, one for each possible start and each possible difference of
// speed. A repeated bar may answer as loudly as the right one, so several places are handed on, and samples decide.
const (
	pieceFrames  = 20 * outlineHz
	shortest     = 2 * outlineHz // of a piece, where the file allows
	maxPieces    = 24
	maxDriftPPM  = 600.0
	driftStepPPM = 50.0
	candidates   = 6
	apartFrames  = 25 // two candidates are two places if so far apart
)

// placing is a possible place of the print: seconds in the print = DelayS + seconds in the mix * (1 + DriftPPM/1e6).
type placing struct {
	delayS, drift float64 // seconds; a share, not ppm
	score         float64 // mean correlation of the pieces
}

// place returns the likeliest places, the best first; none when a file is silent.
func place(mix, print *outline) []placing {
	query, reference, swapped := mix, print, false
	if print.frames() < mix.frames() {
		query, reference, swapped = print, mix, true
	}
	pieces := piecesOf(query)
	if len(pieces) == 0 || reference.frames() < 2 {
		return nil
	}
	c := newCorrelator(reference, pieces[0].to-pieces[0].from)
	n := query.frames() + reference.frames()
	var all []placing
	score := make([]float64, n)
	for i, p := range pieces {
		pieces[i].answer = c.correlate(query, p)
	}
	long := outlineSeconds(query.frames())
	for drift := -maxDriftPPM; drift <= maxDriftPPM; drift += driftStepPPM {
		e := drift * 1e-6
		if drift != 0 && math.Abs(e)*long*outlineHz < 0.5 {
			continue // the file is too short for this to make a difference
		}
		clear(score)
		for _, p := range pieces {
			shift := int(math.Round(float64(p.from+p.to) / 2 * e))
			for at, v := range p.answer {
				if k := at - p.from - shift + query.frames(); k >= 0 && k < n {
					score[k] += float64(v)
				}
			}
		}
		for k, v := range score {
			if v > 0 && v >= score[max(0, k-1)] && v >= score[min(n-1, k+1)] {
				all = append(all, placing{delayS: outlineSeconds(k - query.frames()), drift: e, score: v / float64(len(pieces))})
			}
		}
		all = best(all)
	}
	if swapped { // reference = delay + query (1 + drift), turned round
		for i, p := range all {
			all[i].delayS, all[i].drift = -p.delayS/(1+p.drift), 1/(1+p.drift)-1
		}
	}
	return all
}

// best keeps the highest scores, of places that are apart.
func best(all []placing) []placing {
	slices.SortStableFunc(all, func(a, b placing) int { return cmp.Compare(b.score, a.score) })
	var kept []placing
	for _, p := range all {
		if len(kept) == candidates {
			break
		}
		if !slices.ContainsFunc(kept, func(k placing) bool { return math.Abs(k.delayS-p.delayS)*outlineHz < apartFrames }) {
			kept = append(kept, p)
		}
	}
	return kept
}

// piece is a stretch of frames, and how well each place of the reference answers it (-1..1).
type piece struct {
	from, to int
	answer   []float32
}

// piecesOf cuts an outline, leaving out what is silent.
func piecesOf(o *outline) []piece {
	length := pieceFrames
	if o.frames() < 2*length {
		length = max(min(shortest, o.frames()), o.frames()/3)
	}
	count := o.frames() / max(length, 1)
	var all []piece
	for i := range count {
		p := piece{from: i * length, to: (i + 1) * length}
		if sounds(o, p) {
			all = append(all, p)
		}
	}
	if len(all) > maxPieces {
		kept := make([]piece, maxPieces)
		for i := range kept {
			kept[i] = all[i*len(all)/maxPieces]
		}
		all = kept
	}
	return all
}

// sounds reports whether anything changes in a piece.
func sounds(o *outline, p piece) bool {
	for b := range o.change {
		for _, v := range o.change[b][p.from:p.to] {
			if v != 0 {
				return true
			}
		}
	}
	return false
}

// correlator correlates pieces of one length with a reference.
type correlator struct {
	t         *fft.FFT
	reference [outlineBands / 2]spectrum
	norm      []float64 // square root of the reference's energy under a piece that begins there
	work      [2][]float32
}

// spectrum is a complex spectrum in two planes.
type spectrum struct{ re, im []float32 }

func newSpectrum(n int) spectrum { return spectrum{make([]float32, n), make([]float32, n)} }

func newCorrelator(o *outline, length int) *correlator {
	size := fft.MinSize
	for size < o.frames()+length {
		size *= 2
	}
	c := &correlator{t: fft.New(size), work: [2][]float32{make([]float32, size), make([]float32, size)}}
	for b := range c.reference {
		c.reference[b] = c.spectrum(o.change[2*b], o.change[2*b+1])
	}
	sums := make([]float64, o.frames()+1)
	for i := range o.frames() {
		sums[i+1] = sums[i]
		for b := range o.change {
			sums[i+1] += float64(o.change[b][i]) * float64(o.change[b][i])
		}
	}
	c.norm = make([]float64, o.frames())
	for i := range c.norm {
		c.norm[i] = math.Sqrt(sums[min(i+length, o.frames())] - sums[i])
	}
	return c
}

// spectrum transforms two series at once.
func (c *correlator) spectrum(a, b []float32) spectrum {
	clear(c.work[0][copy(c.work[0], a):])
	clear(c.work[1][copy(c.work[1], b):])
	c.t.Transform(c.work[0], c.work[1], nil)
	s := newSpectrum(c.t.Len())
	c.t.Bins(s.re, s.im)
	return s
}

// correlate returns the correlation coefficient of a piece with the reference from each frame on.
func (c *correlator) correlate(o *outline, p piece) []float32 {
	sum := newSpectrum(c.t.Len())
	var energy float64
	for b, ref := range c.reference {
		first, second := o.change[2*b][p.from:p.to], o.change[2*b+1][p.from:p.to]
		s := c.spectrum(first, second)
		for k := range s.re { // conj(s) * ref
			sum.re[k] += s.re[k]*ref.re[k] + s.im[k]*ref.im[k]
			sum.im[k] += s.re[k]*ref.im[k] - s.im[k]*ref.re[k]
		}
		for i := range first {
			energy += float64(first[i])*float64(first[i]) + float64(second[i])*float64(second[i])
		}
	}
	c.t.Transform(sum.im, sum.re, nil) // with the planes exchanged it is the inverse, its planes exchanged
	c.t.Bins(sum.im, sum.re)
	out := make([]float32, len(c.norm))
	scale := 1 / float64(c.t.Len()) / math.Sqrt(energy)
	for i, n := range c.norm {
		if n > 0.05*math.Sqrt(energy) {
			out[i] = float32(float64(sum.re[i]) * scale / n)
		}
	}
	return out
}
