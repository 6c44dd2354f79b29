package kinship

import (
	"math"
	"slices"

	"foldout/features/cores"
	"foldout/features/fft"
	"foldout/features/vec"
)

// framing says how pieces of waveform are cut into spectra: Hann windows of size samples, half overlapping, every
// stride-th bin between 40 Hz and 1750 Hz (above it the decimation filter begins to fall).
// Before and after the frames of a piece lie pad silent ones, so that frames can be laid beside those of another lag.
type framing struct {
	size, stride, pad int
}

func (f framing) frames() int { return 2*chunkSamples/f.size - 1 }

func (f framing) bins() (first, count int) {
	width := float64(waveRateHz) / float64(f.size)
	first = int(math.Ceil(40 / width))
	last := int(1750 / width)
	return first, (last-first)/f.stride + 1
}

// blocks is the number of groups of vec.CrossColumns bins.
func (f framing) blocks() int {
	_, n := f.bins()
	return (n + vec.CrossColumns - 1) / vec.CrossColumns
}

// spectra holds the spectra of one piece of one track in rows as vec.Cross takes them, the rows of one block of bins one
// after another in time. What a last block has beyond the bins is 0.
type spectra struct {
	frames, pad int
	rows        []float32 // blocks x (pad + frames + pad) x vec.CrossRow
	total       []float32 // per bin: sum of power over the frames
}

// newSpectra holds every step-th frame.
func newSpectra(f framing, step int) *spectra {
	s := &spectra{frames: (f.frames() + step - 1) / step, pad: f.pad}
	s.rows, s.total = make([]float32, f.blocks()*s.stride()), make([]float32, f.blocks()*vec.CrossColumns)
	return s
}

// stride is the number of values from the rows of a block of bins to those of the next.
func (s *spectra) stride() int { return (s.frames + 2*s.pad) * vec.CrossRow }

// block is the rows of a block of bins of the frames lo to hi-1.
func (s *spectra) block(n, lo, hi int) []float32 {
	at := n*s.stride() + s.pad*vec.CrossRow
	return s.rows[at+lo*vec.CrossRow : at+hi*vec.CrossRow]
}

// power gives the powers of a block of bins in frame t.
func (s *spectra) power(block, t int) []float32 {
	return s.block(block, t, t+1)[2*vec.CrossColumns:]
}

// analyser computes spectra; one per goroutine.
type analyser struct {
	framing
	step               int // between frames taken
	window             []float32
	fft                *fft.FFT
	wave               []float32
	zeros              []float32
	spare              []float32 // rows of a frame that is not there
	aRe, aIm, bRe, bIm []float32 // of two frames; 0 beyond the bins
}

func newAnalyser(f framing, step int) *analyser {
	a := &analyser{framing: f, step: step, fft: fft.New(f.size), wave: make([]float32, chunkSamples), zeros: make([]float32, f.size), spare: make([]float32, f.blocks()*vec.CrossRow)}
	for _, part := range []*[]float32{&a.aRe, &a.aIm, &a.bRe, &a.bIm} {
		*part = make([]float32, f.blocks()*vec.CrossColumns)
	}
	a.window = make([]float32, f.size)
	for i := range a.window {
		a.window[i] = float32(0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(f.size)))
	}
	return a
}

// run fills out with the spectra of c, its waveform multiplied by gain. Two frames go through one transform.
func (a *analyser) run(c *Chunk, gain float32, out *spectra) {
	c.decode(a.wave)
	a.spectra(gain, out)
}

// spectra does it for the waveform decoded.
func (a *analyser) spectra(gain float32, out *spectra) {
	first, bins := a.bins()
	hop, stride := a.size/2*a.step, out.stride()
	clear(out.total)
	for t := 0; t < out.frames; t += 2 {
		x, y := a.wave[t*hop:t*hop+a.size], a.zeros
		second := vec.Spectrum{Re: a.bRe, Im: a.bIm, Rows: a.spare, Stride: vec.CrossRow}
		if t+1 < out.frames {
			y = a.wave[(t+1)*hop : (t+1)*hop+a.size]
			second.Rows, second.Stride = out.rows[(out.pad+t+1)*vec.CrossRow:], stride
		}
		a.fft.Transform(x, y, a.window)
		a.fft.Spectra(first, a.stride, a.aRe[:bins], a.aIm, a.bRe, a.bIm)
		vec.CrossRows(out.total, vec.Spectrum{Re: a.aRe, Im: a.aIm, Rows: out.rows[(out.pad+t)*vec.CrossRow:], Stride: stride}, second, gain)
	}
}

// perTurn is how many pieces a goroutine takes at a time: one alone is too little to pass on.
const perTurn = 8

// parallel calls do(worker, i) for every i < n from at most the given number of goroutines, worker below that number.
func parallel(workers, n int, do func(worker, i int)) {
	cores.Each(workers, (n+perTurn-1)/perTurn, func(worker, lot int) {
		for i := lot * perTurn; i < min((lot+1)*perTurn, n); i++ {
			do(worker, i)
		}
	})
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
