package kinship

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"

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

// rhythms computes the changes of all pieces of one track.
func rhythms(s *Sketch, gain float32) []changes {
	out := make([]changes, len(s.Chunks))
	wave := make([]float32, chunkSamples)
	const n = chunkSamples / rhythmHop
	energy := make([]float64, n+rhythmWindow)
	level := make([]float64, n)
	x := make([]float64, rhythmSize)
	transform := fourier.NewFFT(rhythmSize)
	var bins []complex128
	for i := range s.Chunks {
		c := &s.Chunks[i]
		c.decode(wave)
		for h := range n {
			var e float32
			for _, v := range wave[h*rhythmHop : (h+1)*rhythmHop] {
				e += v * v
			}
			energy[h+rhythmWindow/2] = float64(e*gain*gain) / rhythmHop
		}
		floor := math.Pow(10, -rhythmDepth/10.0)
		var sum float64
		for h := range n {
			sum = 0
			for _, e := range energy[h : h+rhythmWindow] {
				sum += e
			}
			level[h] = 10 * math.Log10(sum/rhythmWindow+floor)
		}
		clear(x)
		var power float64
		for h := 4; h < n; h++ {
			x[h] = level[h] - level[h-4]
			power += x[h] * x[h]
		}
		bins = transform.Coefficients(bins, x)
		keep := make([]float32, 2*rhythmTop)
		power = 0
		for k := range rhythmTop {
			keep[k], keep[rhythmTop+k] = float32(real(bins[k])), float32(imag(bins[k]))
			power += 2 * real(bins[k]*cmplx.Conj(bins[k])) / rhythmSize
		}
		out[i] = changes{c.Index, keep, power}
	}
	return out
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
