package kinship

import (
	"iter"
	"math"
	"math/bits"

	"foldout/features/cores"
	"foldout/features/vec"
)

// Doubles are two performances of the same notes on the same kind of instrument: the waveforms differ, the partials
// do not. Each frame of 256 ms gives a pattern of partials, the fourth root of the power less its average over the
// neighbouring 164 Hz, scaled to unit length; two tracks are compared by the mean inner product of their patterns
// over the frames in which both sound, and by how far that lies above the product of the mean patterns, which is
// what two unconnected parts in one key would give.

const (
	patternStep   = 4    // every fourth frame
	patternReach  = 20   // bins either side
	patternGate   = 0.01 // of the mean power of the track
	patternFrames = 10   // at least, in common
)

// patterns holds one piece of one track: frames x bins, and which frames sound.
type patterns struct {
	value   []float32
	up      []float32              // frames x half the bins: the value an octave up
	sound   frameSet               // these
	sums    map[frameSet][]float64 // of the values over sets of frames, by bin; many pairs ask for the same
	spare   [][]float64
	running []float32 // room for contrast
}

// frameSet has a bit for each frame of a piece.
type frameSet uint32

// likePatterns is what two tracks gave: the mean product, and how far it lies above chance; and the same with one of
// them an octave up, whichever gives more.
type likePatterns struct{ same, above, octave, octaveAbove float64 }

// patternSum accumulates a pair.
type patternSum struct {
	x, y         int
	n            int
	product      float64
	up, down     float64 // with the second, the first an octave higher
	meanX, meanY []float64
}

// double compares the partials of the pairs given.
func double(sketches []Sketch, gains []float32, pairs [][2]int) []likePatterns {
	_, bins := fine.bins()
	sums := make([]patternSum, len(pairs))
	used := make([]bool, len(sketches))
	for i, p := range pairs {
		sums[i] = patternSum{x: p[0], y: p[1], meanX: make([]float64, bins), meanY: make([]float64, bins)}
		used[p[0]], used[p[1]] = true, true
	}
	workers := cores.Most()
	analysers, scratch := make([]*analyser, workers), make([]*spectra, workers)
	for w := range analysers {
		analysers[w], scratch[w] = newAnalyser(fine, patternStep), newSpectra(fine, patternStep)
	}
	store, now := make([]*patterns, len(sketches)), make([]*patterns, len(sketches))
	for _, index := range pieces(sketches) {
		parallel(workers, len(sketches), func(w, i int) {
			now[i] = nil
			if !used[i] {
				return
			}
			if c := sketches[i].chunk(index); c != nil {
				analysers[w].run(c, gains[i], scratch[w])
				if store[i] == nil {
					store[i] = &patterns{}
				}
				store[i].fill(scratch[w], bins)
				now[i] = store[i]
			}
		})
		for i := range sums {
			if x, y := now[sums[i].x], now[sums[i].y]; x != nil && y != nil {
				if both := x.sound & y.sound; both != 0 {
					x.sums[both], y.sums[both] = nil, nil
				}
			}
		}
		parallel(workers, len(now), func(_, i int) {
			if now[i] != nil {
				now[i].sum(bins)
			}
		})
		parallel(workers, len(sums), func(_, i int) { sums[i].add(now[sums[i].x], now[sums[i].y], bins) })
	}
	out := make([]likePatterns, len(pairs))
	for i := range sums {
		out[i] = sums[i].result()
	}
	return out
}

func (p *patterns) fill(s *spectra, bins int) {
	half := bins / 2
	if p.value == nil {
		p.value, p.up, p.sums = make([]float32, s.frames*bins), make([]float32, s.frames*half), map[frameSet][]float64{}
		p.running = make([]float32, bins+1)
	}
	for _, row := range p.sums {
		p.spare = append(p.spare, row)
	}
	clear(p.sums)
	p.sound = 0
	// A Hann window of size N over unit power gives 3/8 N per bin on the average; half of the band is seen.
	gate := float32(patternGate) * float32(bins) * float32(fine.size) * 3 / 8
	for t := range s.frames {
		row := p.value[t*bins : (t+1)*bins]
		var power float32
		for n := range fine.blocks() {
			part := row[n*vec.CrossColumns : min((n+1)*vec.CrossColumns, bins)]
			for k, v := range s.power(n, t)[:len(part)] {
				power += v
				part[k] = v
			}
		}
		if power > gate {
			p.sound |= 1 << t
			vec.FourthRoots(row, row)
			contrast(row, p.running)
			for b := range half {
				p.up[t*half+b] = row[octaveUp[b]]
			}
		}
	}
}

// sum adds up the frames of each set asked for.
func (p *patterns) sum(bins int) {
	for set := range p.sums {
		var row []float64
		if n := len(p.spare); n > 0 {
			row, p.spare = p.spare[n-1], p.spare[:n-1]
			clear(row)
		} else {
			row = make([]float64, bins)
		}
		for t := range set.frames() {
			vec.Accumulate(row, p.value[t*bins:(t+1)*bins])
		}
		p.sums[set] = row
	}
}

// frames yields the frames of the set, ascending.
func (set frameSet) frames() iter.Seq[int] {
	return func(yield func(int) bool) {
		for rest := set; rest != 0; rest &= rest - 1 {
			if !yield(bits.TrailingZeros32(uint32(rest))) {
				return
			}
		}
	}
}

// contrast takes the local average off and scales to unit length. It needs room for a running sum, one longer than row.
func contrast(row, running []float32) {
	var sum float32
	for i, v := range row {
		running[i] = sum
		sum += v
	}
	running[len(row)] = sum
	var energy float32
	for i := range row {
		lo, hi := max(0, i-patternReach), min(len(row), i+patternReach+1)
		row[i] -= (running[hi] - running[lo]) / float32(hi-lo)
		energy += row[i] * row[i]
	}
	if energy > 0 {
		k := 1 / float32(math.Sqrt(float64(energy)))
		for i := range row {
			row[i] *= k
		}
	}
}

func (s *patternSum) add(x, y *patterns, bins int) {
	if x == nil || y == nil {
		return
	}
	half, both := bins/2, x.sound&y.sound
	if both == 0 {
		return
	}
	for t := range both.frames() {
		u, v := x.value[t*bins:(t+1)*bins], y.value[t*bins:(t+1)*bins]
		s.product += float64(vec.Dot(u, v))
		s.up += float64(vec.Dot(u[:half], y.up[t*half:(t+1)*half]))
		s.down += float64(vec.Dot(v[:half], x.up[t*half:(t+1)*half]))
		s.n++
	}
	vec.Add(s.meanX, x.sums[both])
	vec.Add(s.meanY, y.sums[both])
}

func (s *patternSum) result() (out likePatterns) {
	if s.n < patternFrames {
		return out
	}
	n := float64(s.n)
	// The mean product of all frames of one with all other frames of the other is what chance gives.
	over := func(product, chance float64) (same, above float64) {
		same = product / n
		return same, same - (chance-product)/(n*(n-1))
	}
	var chance, up, down float64
	for b, v := range s.meanX {
		chance += v * s.meanY[b]
	}
	for b := range len(s.meanX) / 2 {
		up += s.meanX[b] * s.meanY[octaveUp[b]]
		down += s.meanX[octaveUp[b]] * s.meanY[b]
	}
	out.same, out.above = over(s.product, chance)
	out.octave, out.octaveAbove = over(s.up, up)
	if octave, above := over(s.down, down); above > out.octaveAbove {
		out.octave, out.octaveAbove = octave, above
	}
	return out
}

// octaveUp is the bin of twice the frequency of each bin in the lower half of the pattern.
var octaveUp = func() []int {
	first, n := fine.bins()
	out := make([]int, n/2)
	for bin := range out {
		out[bin] = min(2*(first+bin)-first, n-1)
	}
	return out
}()
