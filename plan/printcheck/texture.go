package printcheck

import (
	"math"

	"foldout/features/fft"
)

// texture looks at short frames of fit, print and rest for two questions. What does the chain add where the mix is soft
// (noise)? And does the rest follow the signal without being a copy of it, in every band alike, as the rest of a lossy
// codec does?
const (
	textureSize  = 2048 // at up to 50 kHz
	textureEvery = 2    // of the frames is looked at
	classLow     = -120.0
	classStep    = 6.0
	classes      = 21
	cellBands    = 7 // third octaves from 4 kHz to 16 kHz
	cellLow      = -130.0
	cellStep     = 5.0
	cellBins     = 27
)

type texture struct {
	rate, size int
	t          *fft.FFT
	window     []float32
	bins       [2]spectrum
	rest       []float32
	count      int
	// rest's mean power by line, sorted by the level of the fit.
	noise  [classes][]float64
	frames [classes]float64
	edges  [cellBands + 1]int
	// cells: by band and level of the fit, number and mean level (dB) of what is in the print and not a copy of the fit.
	cells [cellBands][cellBins]struct{ n, sum float64 }
}

func newTexture(rate int) *texture {
	t := &texture{rate: rate, size: textureSize * scaleOf(rate)}
	t.t, t.window = fft.New(t.size), hann(t.size)
	t.bins = [2]spectrum{newSpectrum(t.size), newSpectrum(t.size)}
	t.rest = make([]float32, t.size/2+1)
	for c := range t.noise {
		t.noise[c] = make([]float64, t.size/2+1)
	}
	for b := range t.edges {
		hz := 1000 * math.Pow(10, 0.1*(float64(6+b)-0.5))
		t.edges[b] = min(t.size/2, int(math.Round(hz*float64(t.size)/float64(rate))))
	}
	return t
}

func (t *texture) add(o *texture) {
	for c := range t.noise {
		t.frames[c] += o.frames[c]
		for k, v := range o.noise[c] {
			t.noise[c][k] += v
		}
	}
	for b := range t.cells {
		for i := range t.cells[b] {
			t.cells[b][i].n += o.cells[b][i].n
			t.cells[b][i].sum += o.cells[b][i].sum
		}
	}
}

// norm turns a sum over lines, under the window, into the mean square of both sides.
func (t *texture) norm() float64 {
	var sum float64
	for _, w := range t.window {
		sum += float64(w) * float64(w)
	}
	return 1 / (2 * float64(t.size) * sum)
}

func (t *texture) write(u, y, e [2][]float32) {
	norm := t.norm()
	for at := 0; at+t.size <= len(u[0]); at += t.size {
		if t.count++; t.count%textureEvery != 0 {
			continue
		}
		part := func(p [2][]float32) ([]float32, []float32) { return p[0][at : at+t.size], p[1][at : at+t.size] }
		for i, p := range [2][2][]float32{u, y} {
			a, b := part(p)
			t.t.Transform(a, b, t.window)
			t.t.Bins(t.bins[i].re, t.bins[i].im)
		}
		a, b := part(e)
		t.t.Transform(a, b, t.window)
		t.t.Power(t.rest, false)
		var level float64
		for c := range 2 {
			for _, v := range u[c][at : at+t.size] {
				level += float64(v) * float64(v)
			}
		}
		level = 10 * math.Log10(level/float64(2*t.size)+1e-15)
		c := int(clamp((level-classLow)/classStep, 0, classes-1))
		t.frames[c]++
		for k, v := range t.rest {
			t.noise[c][k] += float64(v) * norm
		}
		t.fill(norm)
	}
}

// fill sorts the cells of one frame.
func (t *texture) fill(norm float64) {
	for b := range cellBands {
		for c := range 2 {
			var uu, yy, re, im float64
			for k := t.edges[b]; k < t.edges[b+1]; k++ {
				var ur, ui, yr, yi float32
				if c == 0 {
					ur, ui, _, _ = unpack(t.bins[0], k, t.size)
					yr, yi, _, _ = unpack(t.bins[1], k, t.size)
				} else {
					_, _, ur, ui = unpack(t.bins[0], k, t.size)
					_, _, yr, yi = unpack(t.bins[1], k, t.size)
				}
				uu += float64(ur*ur + ui*ui)
				yy += float64(yr*yr + yi*yi)
				re += float64(ur*yr + ui*yi)
				im += float64(ur*yi - ui*yr)
			}
			if uu == 0 {
				continue
			}
			own := yy - (re*re+im*im)/uu
			level := 10 * math.Log10(2*uu*norm)
			i := int((level - cellLow) / cellStep)
			if level < cellLow || i >= cellBins {
				continue
			}
			t.cells[b][i].n++
			t.cells[b][i].sum += 10 * math.Log10(math.Max(2*own*norm, 1e-16))
		}
	}
}

// Noise is what the chain adds where the mix is at its softest.
type Noise struct {
	DBFS  float64 `json:"dbfs"` // rms of both sides
	DBFSA float64 `json:"dbfs_a"`
	// MixDBFS is the level of the passages it was measured in, at the print's gain. The noise is at most what is said here:
	// other leftovers of the chain are in it.
	MixDBFS float64 `json:"mix_dbfs"`
}

// quietest returns the noise of the softest class that holds enough; nil when there is none.
func (t *texture) quietest() *Noise {
	const least = 4
	for c := range t.noise {
		if t.frames[c] < least {
			continue
		}
		var flat, weighted float64
		for k, v := range t.noise[c] {
			v /= t.frames[c]
			hz := float64(k) * float64(t.rate) / float64(t.size)
			if hz >= 20 && hz <= 20000 {
				flat += v
			}
			weighted += v * math.Pow(10, aWeighting(hz)/10)
		}
		return &Noise{DBFS: level(flat), DBFSA: level(weighted), MixDBFS: classLow + classStep*(float64(c)+0.5)}
	}
	return nil
}

func level(power float64) float64 { return math.Max(-160, 10*math.Log10(power)) }

// aWeighting after IEC 61672-1:2013, in dB.
func aWeighting(hz float64) float64 {
	if hz <= 0 {
		return -200
	}
	f := hz * hz
	const a, b, c, d = 20.598997 * 20.598997, 107.65265 * 107.65265, 737.86223 * 737.86223, 12194.217 * 12194.217
	return 20*math.Log10(d*f*f/((f+a)*math.Sqrt((f+b)*(f+c))*(f+d))) + 1.99965554
}

// follows tells how the rest goes with the signal above 4 kHz: its level against the signal's in loud cells, and by how many
// dB it rises when the signal rises by one. Noise does not rise (0), distortion rises faster (2 or 3), the rest of a codec
// keeps step (about 1).
func (t *texture) follows() (ratioDB, slope float64, ok bool) {
	var w, sx, sy, sxx, sxy, ratio float64
	for b := range t.cells {
		top := -1
		for i, c := range t.cells[b] {
			if c.n >= 10 {
				top = i
			}
		}
		if top < 4 {
			continue
		}
		for i := max(0, top-7); i <= top; i++ {
			c := t.cells[b][i]
			if c.n < 10 {
				continue
			}
			// Levels of one band against one another: subtract the band's own middle.
			x, y := cellStep*float64(i-top), c.sum/c.n-(cellLow+cellStep*(float64(top)+0.5))
			w, sx, sy, sxx, sxy = w+1, sx+x, sy+y, sxx+x*x, sxy+x*y
			ratio += y - x
		}
	}
	if w < 6 {
		return 0, 0, false
	}
	return ratio / w, (sxy - sx*sy/w) / (sxx - sx*sx/w), true
}
