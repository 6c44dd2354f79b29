package kinship

import "math"

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
	value []float32
	sound []bool
}

// likePatterns is what two tracks gave: the mean product, and how far it lies above chance; and the same with one of
// them an octave up, whichever gives more.
type likePatterns struct{ same, above, octave, octaveAbove float64 }

// patternSum accumulates a pair.
type patternSum struct {
	x, y         int
	n            int
	product      float64
	up, down     float64 // with the second, the first an octave higher
	meanX, meanY []float32
}

// double compares the partials of the pairs given.
func double(sketches []Sketch, gains []float32, pairs [][2]int) []likePatterns {
	_, bins := fine.bins()
	sums := make([]patternSum, len(pairs))
	used := make([]bool, len(sketches))
	for i, p := range pairs {
		sums[i] = patternSum{x: p[0], y: p[1], meanX: make([]float32, bins), meanY: make([]float32, bins)}
		used[p[0]], used[p[1]] = true, true
	}
	workers := maxWorkers()
	analysers, scratch := make([]*analyser, workers), make([]*spectra, workers)
	for w := range analysers {
		analysers[w], scratch[w] = newAnalyser(fine), newSpectra(fine)
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
		parallel(workers, len(sums), func(_, i int) { sums[i].add(now[sums[i].x], now[sums[i].y], bins) })
	}
	out := make([]likePatterns, len(pairs))
	for i := range sums {
		out[i] = sums[i].result()
	}
	return out
}

func (p *patterns) fill(s *spectra, bins int) {
	frames := fine.frames()
	n := (frames + patternStep - 1) / patternStep
	if p.value == nil {
		p.value, p.sound = make([]float32, n*bins), make([]bool, n)
	}
	// A Hann window of size N over unit power gives 3/8 N per bin on the average; half of the band is seen.
	gate := float32(patternGate) * float32(bins) * float32(fine.size) * 3 / 8
	for t := range n {
		row := p.value[t*bins : (t+1)*bins]
		var power float32
		for b := range row {
			v := s.power[b*frames+t*patternStep]
			power += v
			row[b] = float32(math.Sqrt(math.Sqrt(float64(v))))
		}
		p.sound[t] = power > gate
		if p.sound[t] {
			contrast(row)
		}
	}
}

// contrast takes the local average off and scales to unit length.
func contrast(row []float32) {
	sums := make([]float32, len(row)+1)
	for i, v := range row {
		sums[i+1] = sums[i] + v
	}
	var energy float32
	for i := range row {
		lo, hi := max(0, i-patternReach), min(len(row), i+patternReach+1)
		row[i] -= (sums[hi] - sums[lo]) / float32(hi-lo)
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
	for t, ok := range x.sound {
		if !ok || !y.sound[t] {
			continue
		}
		u, v := x.value[t*bins:(t+1)*bins], y.value[t*bins:(t+1)*bins]
		var sum, up, down float32
		for b, a := range u {
			sum += a * v[b]
			s.meanX[b] += a
			s.meanY[b] += v[b]
		}
		for b := range len(u) / 2 {
			up += u[b] * v[octaveUp(b)]
			down += u[octaveUp(b)] * v[b]
		}
		s.product += float64(sum)
		s.up += float64(up)
		s.down += float64(down)
		s.n++
	}
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
		chance += float64(v) * float64(s.meanY[b])
	}
	for b := range len(s.meanX) / 2 {
		up += float64(s.meanX[b]) * float64(s.meanY[octaveUp(b)])
		down += float64(s.meanX[octaveUp(b)]) * float64(s.meanY[b])
	}
	out.same, out.above = over(s.product, chance)
	out.octave, out.octaveAbove = over(s.up, up)
	if octave, above := over(s.down, down); above > out.octaveAbove {
		out.octave, out.octaveAbove = octave, above
	}
	return out
}

// octaveUp is the bin of twice the frequency of a bin in the lower half of the pattern.
func octaveUp(bin int) int {
	first, n := fine.bins()
	return min(2*(first+bin)-first, n-1)
}
