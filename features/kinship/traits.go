package kinship

import (
	"cmp"
	"math"
	"slices"

	"foldout/features/fft"
	"foldout/features/vec"
)

// traits are what one track tells about itself. Comparing those of two tells which was made from the other: what is
// distorted or compressed moves less, what is gated rests more, what is filtered is narrower.
type traits struct {
	rangeDB float64 // 90th less 30th percentile of the level while it sounds
	crest   float64 // kurtosis of the waveform, as log2
	bright  float64 // mean band, power-weighted
	width   float64 // spread of the bands, power-weighted
	active  float64 // share of the frames within 40 dB of the loudest
	floorDB float64 // 5th percentile of the level over all frames re the loudest, at least -80
	repeats float64 // how far it predicts itself, see repeats
}

// traitsOf looks at the envelope and the waveform of a track.
func traitsOf(s *Sketch, t *repeater) (out traits) {
	power := framePowers(s.Envelope)
	if len(power) == 0 {
		return out
	}
	top := slices.Max(power)
	if !(top > 0) {
		return out
	}
	levels, all := make([]float64, 0, len(power)), make([]float64, 0, len(power))
	for _, p := range power {
		db := 10 * math.Log10(p/top+1e-8)
		all = append(all, db)
		if db > -40 {
			levels = append(levels, db)
		}
	}
	out.rangeDB = vec.Nth(levels, len(levels)*9/10) - vec.Nth(levels, len(levels)*3/10)
	out.active = float64(len(levels)) / float64(len(power))
	out.floorDB = vec.Nth(all, len(all)/20)
	var amplitude [256]float64 // of each code
	for c := range amplitude {
		amplitude[c] = math.Sqrt(envelopePower(uint8(c)) / top)
	}
	var sum, mean, square float64
	for f := range power {
		for b, c := range (*[bands]uint8)(s.Envelope[f*bands:]) {
			p := amplitude[c]
			sum += p
			mean += p * float64(b)
			square += p * float64(b) * float64(b)
		}
	}
	if sum > 0 {
		out.bright = mean / sum
		out.width = math.Sqrt(max(square/sum-out.bright*out.bright, 0))
	}
	out.crest, out.repeats = t.look(s)
	return out
}

const (
	repeatSize   = 8192 // samples at half the rate: 4.1 s
	repeatPieces = 2
	repeatLeast  = 205 // 100 ms
)

// repeater finds out how far a track predicts itself: the highest value, from 100 ms to 2 s, of the autocorrelation
// of its waveform, whitened by the square root of its spectrum so that a held note is no repetition. One-shots on a grid
// give nearly 1, played notes little.
type repeater struct {
	fft  *fft.FFT
	wave []float32
	a, b []float32
	none []float32
	ones []float32
}

func newRepeater() *repeater {
	r := &repeater{fft: fft.New(repeatSize), wave: make([]float32, chunkSamples), a: make([]float32, repeatSize), b: make([]float32, repeatSize), none: make([]float32, repeatSize), ones: make([]float32, repeatSize)}
	for i := range r.ones {
		r.ones[i] = 1
	}
	return r
}

func (r *repeater) look(s *Sketch) (crest, repeats float64) {
	loud := make([]*Chunk, len(s.Chunks))
	for i := range s.Chunks {
		loud[i] = &s.Chunks[i]
	}
	slices.SortStableFunc(loud, func(x, y *Chunk) int { return cmp.Compare(y.Power, x.Power) })
	var squares, fourths, n float64
	sum := make([]float64, repeatSize/2)
	for _, c := range loud[:min(len(loud), repeatPieces)] {
		c.decode(r.wave)
		k := float32(1 / math.Sqrt(c.Power))
		for i, v := range r.wave {
			v *= k
			r.wave[i] = v
			q := float64(v * v)
			squares += q
			fourths += q * q
			n++
		}
		for i := range r.a {
			r.a[i] = (r.wave[2*i] + r.wave[2*i+1]) / 2
		}
		r.fft.Transform(r.a, r.none, r.ones)
		clear(r.b)
		for f := range repeatSize / 2 {
			re, im, _, _ := r.fft.Spectrum(f)
			v := float32(math.Sqrt(float64(re*re + im*im)))
			r.b[f] = v
			if f > 0 {
				r.b[repeatSize-f] = v
			}
		}
		r.fft.Transform(r.b, r.none, r.ones)
		for f := range sum {
			re, _, _, _ := r.fft.Spectrum(f)
			sum[f] += float64(re)
		}
	}
	if n == 0 || !(squares > 0) {
		return 0, 0
	}
	for lag := repeatLeast; lag < len(sum); lag++ {
		repeats = max(repeats, sum[lag]/sum[0])
	}
	return math.Log2(max(fourths*n/(squares*squares), 1)), min(repeats, 1)
}
