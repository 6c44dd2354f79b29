package kinship

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"foldout/features/fft"
)

// framing says how pieces of waveform are cut into spectra: Hann windows of size samples, half overlapping, every
// stride-th bin between 40 Hz and 1750 Hz (above it the decimation filter begins to fall).
type framing struct {
	size, stride int
}

func (f framing) frames() int { return 2*chunkSamples/f.size - 1 }

func (f framing) bins() (first, count int) {
	width := float64(waveRateHz) / float64(f.size)
	first = int(math.Ceil(40 / width))
	last := int(1750 / width)
	return first, (last-first)/f.stride + 1
}

// spectra holds the spectra of one piece of one track, bin by bin: element k*frames + t.
type spectra struct {
	re, im []float32
	power  []float32 // k*frames + t
	total  []float32 // per bin: sum of power over the frames
}

func newSpectra(f framing) *spectra {
	_, n := f.bins()
	m := n * f.frames()
	return &spectra{re: make([]float32, m), im: make([]float32, m), power: make([]float32, m), total: make([]float32, n)}
}

// analyser computes spectra; one per goroutine.
type analyser struct {
	framing
	window []float32
	fft    *fft.FFT
	wave   []float32
	zeros  []float32
}

func newAnalyser(f framing) *analyser {
	a := &analyser{framing: f, fft: fft.New(f.size), wave: make([]float32, chunkSamples), zeros: make([]float32, f.size)}
	a.window = make([]float32, f.size)
	for i := range a.window {
		a.window[i] = float32(0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(f.size)))
	}
	return a
}

// run fills out with the spectra of c, its waveform multiplied by gain. Two frames go through one transform.
func (a *analyser) run(c *Chunk, gain float32, out *spectra) {
	c.decode(a.wave)
	a.spectra(a.wave, gain, out)
}

// spectra does it for a decoded waveform.
func (a *analyser) spectra(wave []float32, gain float32, out *spectra) {
	first, bins := a.bins()
	frames, hop := a.frames(), a.size/2
	for t := 0; t < frames; t += 2 {
		x, y := wave[t*hop:t*hop+a.size], a.zeros
		if t+1 < frames {
			y = wave[(t+1)*hop : (t+1)*hop+a.size]
		}
		a.fft.Transform(x, y, a.window)
		for b := range bins {
			at := b*frames + t
			re, im, re1, im1 := a.fft.Spectrum(first + b*a.stride)
			re, im = re*gain, im*gain
			out.re[at], out.im[at], out.power[at] = re, im, re*re+im*im
			if t+1 < frames {
				re1, im1 = re1*gain, im1*gain
				out.re[at+1], out.im[at+1], out.power[at+1] = re1, im1, re1*re1+im1*im1
			}
		}
	}
	for b := range bins {
		var sum float32
		for _, p := range out.power[b*frames : (b+1)*frames] {
			sum += p
		}
		out.total[b] = sum
	}
}

func maxWorkers() int { return runtime.GOMAXPROCS(0) }

// parallel calls do(worker, i) for every i < n from at most the given number of goroutines, worker below that number.
func parallel(workers, n int, do func(worker, i int)) {
	workers = min(workers, (n+7)/8)
	if workers <= 1 {
		for i := range n {
			do(0, i)
		}
		return
	}
	var wg sync.WaitGroup
	var mu sync.Mutex
	next := 0
	for w := range workers {
		wg.Go(func() {
			for {
				mu.Lock()
				lo := next
				next += 8
				mu.Unlock()
				if lo >= n {
					return
				}
				for i := lo; i < min(lo+8, n); i++ {
					do(w, i)
				}
			}
		})
	}
	wg.Wait()
}

// pieces lists the indices of all pieces that any of the tracks holds, ascending.
func pieces(sketches []Sketch) []int64 {
	var all []int64
	for i := range sketches {
		for _, c := range sketches[i].Chunks {
			all = append(all, c.Index)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}
