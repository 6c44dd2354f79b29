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

	likeTimbre   = 4.5 // dB of band profile; doubles of guitars and voices 0.8-3.5
	samePartials = 0.3 // above chance; doubles 0.31-0.62
)

// patterns holds one piece of one track: frames x bins, and which frames sound.
type patterns struct {
	value []float32
	sound []bool
}

// likePatterns is what two tracks gave: the mean product, and how far it lies above chance.
type likePatterns struct{ same, above float64 }

// patternSum accumulates a pair.
type patternSum struct {
	x, y         int
	n            int
	product      float64
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
		var sum float32
		for b, a := range u {
			sum += a * v[b]
			s.meanX[b] += a
			s.meanY[b] += v[b]
		}
		s.product += float64(sum)
		s.n++
	}
}

func (s *patternSum) result() likePatterns {
	if s.n < patternFrames {
		return likePatterns{}
	}
	n := float64(s.n)
	var chance float64
	for b, v := range s.meanX {
		chance += float64(v) * float64(s.meanY[b])
	}
	same := s.product / n
	// The mean product of all frames of one with all other frames of the other.
	return likePatterns{same: same, above: same - (chance-s.product)/(n*(n-1))}
}

// doubles decides, knowing how far the band profiles are apart in dB. Seen (same, above, profile): voices 0.59-0.67,
// 0.38-0.62, 1.6-4; guitars 0.66-0.81, 0.31-0.51, 1-2.5; a piano and a synthesiser on the same chords 0.64, 0.31, 3.9;
// two guitar parts on the same chords up to 0.65, 0.33, 4.5.
func (p likePatterns) doubles(profile float64) bool {
	return p.same >= 0.57 && p.above >= samePartials && p.same+p.above >= 0.94 && (p.above >= 0.4 || profile <= 3)
}
