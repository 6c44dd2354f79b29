package kinship

import (
	"math"

	"foldout/features/fft"
	"foldout/features/vec"
)

// What two tracks play at the same time shows in how their levels rise and fall, whatever was done to the waveform.
// The level of a piece is taken every 4 ms over 32 ms, in dB, and its changes over 16 ms are correlated. A processed
// copy keeps every one of them to the millisecond; another performance does not.

const (
	rhythmHop    = 16 // samples: 4 ms
	rhythmWindow = 8  // hops
	rhythmDepth  = 35 // dB below the mean of the track, where levels are clamped
	rhythmSize   = 2048
	rhythmTop    = 320 // bins of 0.122 Hz: 39 Hz
	rhythmBack   = 1024
	rhythmReach  = 45 // of 8 ms: 360 ms
)

// changes is the spectrum of the level changes of one piece, and their sum of squares.
type changes struct {
	index int64
	bins  []float32 // rhythmTop real parts, then as many imaginary ones
	power float64
}

// mover computes changes; one per goroutine.
type mover struct {
	fft    *fft.FFT
	wave   []float32
	energy []float64
	level  []float64
	x      [2][]float32 // the changes of two pieces, which go through one transform
	spare  []float32
}

func newMover() *mover {
	const n = chunkSamples / rhythmHop
	m := &mover{fft: fft.New(rhythmSize), wave: make([]float32, chunkSamples), energy: make([]float64, n+rhythmWindow), level: make([]float64, n), spare: make([]float32, 2*rhythmTop)}
	for i := range m.x {
		m.x[i] = make([]float32, rhythmSize)
	}
	return m
}

// of computes the changes of all pieces of one track.
func (m *mover) of(s *Sketch, gain float32) []changes {
	out := make([]changes, len(s.Chunks))
	for i := range s.Chunks {
		out[i] = changes{index: s.Chunks[i].Index, bins: make([]float32, 2*rhythmTop)}
	}
	for i := 0; i < len(out); i += 2 {
		m.look(m.x[0], &s.Chunks[i], gain)
		second := m.spare
		if i+1 < len(out) {
			m.look(m.x[1], &s.Chunks[i+1], gain)
			second = out[i+1].bins
		} else {
			clear(m.x[1])
		}
		m.fft.Transform(m.x[0], m.x[1], nil)
		first := out[i].bins
		first[0], first[rhythmTop], second[0], second[rhythmTop] = m.fft.Spectrum(0)
		m.fft.Spectra(1, 1, first[1:rhythmTop], first[rhythmTop+1:], second[1:rhythmTop], second[rhythmTop+1:])
	}
	for i := range out {
		for _, v := range out[i].bins {
			out[i].power += 2 * float64(v) * float64(v) / rhythmSize
		}
	}
	return out
}

// look fills x with how the level of a piece changes, in dB.
func (m *mover) look(x []float32, c *Chunk, gain float32) {
	c.decode(m.wave)
	for h := range m.level {
		var e float32
		for _, v := range m.wave[h*rhythmHop : (h+1)*rhythmHop] {
			e += v * v
		}
		m.energy[h+rhythmWindow/2] = float64(e*gain*gain) / rhythmHop
	}
	floor := math.Pow(10, -rhythmDepth/10.0)
	for h := range m.level {
		var sum float64
		for _, e := range m.energy[h : h+rhythmWindow] {
			sum += e
		}
		m.level[h] = 10 * math.Log10(sum/rhythmWindow+floor)
	}
	const back = 4 // hops: 16 ms
	for h := back; h < len(m.level); h++ {
		x[h] = float32(m.level[h] - m.level[h-back])
	}
}

// rhythm is what the level changes of two tracks have in common.
type rhythm struct {
	match      float64 // correlation coefficient at the best lag within 360 ms, 0..1
	lagSeconds float64 // the second comes this much after the first
	second     float64 // the highest correlation more than 40 ms from there
	still      float64 // the correlation at lag 0
}

// matcher correlates; one per goroutine.
type matcher struct {
	fft         *fft.FFT
	sum, re, im []float32
}

func newMatcher() *matcher {
	return &matcher{fft.New(rhythmBack), make([]float32, 2*rhythmTop), make([]float32, rhythmBack), make([]float32, rhythmBack)}
}

// common adds to sum, bin by bin as changes have them, what the pieces of both tracks have in common, and returns the power of either's pieces. Counted are
// the pieces that both sketches would have kept; where only one of the tracks sounds, the other is silent.
func common(sum []float32, a, b []changes, keep float64) (pa, pb float64) {
	for _, y := range b {
		if priority(y.index) < keep {
			pb += y.power
		}
	}
	for _, x := range a {
		if priority(x.index) >= keep {
			continue
		}
		pa += x.power
		for len(b) > 0 && b[0].index < x.index {
			b = b[1:]
		}
		if len(b) == 0 || b[0].index != x.index {
			continue
		}
		vec.CrossPlanes(sum, x.bins, b[0].bins)
	}
	return pa, pb
}

// compare correlates the pieces that both sketches would have kept; where only one of them sounds, the other is silent.
func (m *matcher) compare(a, b []changes, keep float64) (r rhythm) {
	clear(m.sum)
	pa, pb := common(m.sum, a, b, keep)
	if !(pa > 0) || !(pb > 0) {
		return r
	}
	// Conjugated, so that the forward transform acts as the inverse one; what lies above the bins stays 0.
	copy(m.re, m.sum[:rhythmTop])
	for k, v := range m.sum[rhythmTop:] {
		m.im[k] = -v
	}
	m.fft.Transform(m.re, m.im, nil)
	scale := 2 / (rhythmSize * math.Sqrt(pa*pb))
	var out [2*rhythmReach + 3]float64
	for i := range out {
		v, _ := m.fft.At((i - rhythmReach - 1 + rhythmBack) % rhythmBack)
		out[i] = float64(v) * scale
	}
	at := func(lag int) float64 { return out[lag+rhythmReach+1] }
	best := 0
	for lag := -rhythmReach; lag <= rhythmReach; lag++ {
		if at(lag) > at(best) {
			best = lag
		}
	}
	for lag := -rhythmReach; lag <= rhythmReach; lag++ {
		if lag < best-5 || lag > best+5 {
			r.second = max(r.second, at(lag))
		}
	}
	shift := float64(best)
	l, c, h := at(best-1), at(best), at(best+1)
	if d := l - 2*c + h; d < 0 && c >= l && c >= h { // at the end of the reach there may be a slope and no peak
		shift += (l - h) / (2 * d)
		c -= (l - h) * (l - h) / (8 * d)
	}
	r.match, r.lagSeconds = min(max(c, 0), 1), shift*rhythmSize/rhythmBack*rhythmHop/waveRateHz
	r.still = max(at(0), 0)
	return r
}

// atLag correlates the changes of both tracks with the second later by lag seconds, of any length: as far as an echo
// lies behind. The highest value within 16 ms counts, 0..1.
func atLag(a, b []changes, keep, lag float64) float64 {
	sum := make([]float32, 2*rhythmTop)
	pa, pb := common(sum, a, b, keep)
	if !(pa > 0) || !(pb > 0) {
		return 0
	}
	best := 0.0
	for step := -4; step <= 4; step++ {
		turn := 2 * math.Pi * (lag*waveRateHz/rhythmHop + float64(step)) / rhythmSize
		re, im := 1.0, 0.0
		sin, cos := math.Sincos(turn)
		var v float64
		for k, s := range sum[:rhythmTop] {
			v += float64(s)*re - float64(sum[rhythmTop+k])*im
			re, im = re*cos-im*sin, re*sin+im*cos
		}
		best = max(best, v)
	}
	return min(2*best/(rhythmSize*math.Sqrt(pa*pb)), 1)
}
