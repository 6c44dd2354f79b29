package kinship

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features/align"
)

// CourseHop is how far apart the values of a course lie, in seconds; the frames of sketches are 43 to 46 ms apart, longer in
// long tracks.
const CourseHop = 0.05

const (
	courseRange = 60 // dB below the loudest moment of a band, less counts as that
	courseBands = 6  // of 4 bands of the envelope each
)

// course is how the level of a track rises, in six bands, every 50 ms from the first sample of its file on; each band
// has mean 0, and all together have energy 1.
type course struct {
	frames   int
	rise     [courseBands][]float64
	spectrum [courseBands][]complex128
	size     int // of the transform of spectrum
}

// Courses compares when the levels of tracks rise, at any lag: two tracks of one performance, of the same notes, or of
// one sound in two microphones rise together where they lie right, and nowhere else if nothing repeats.
type Courses struct {
	tracks []course
	fft    *fourier.FFT
	size   int
}

// NewCourses takes the envelopes of sketches. A sketch without envelope, or one that no Sketcher could have made, is a track
// that never rises. Memory: 0.4 MB for a track of four minutes.
func NewCourses(sketches []Sketch) *Courses {
	c := &Courses{tracks: make([]course, len(sketches))}
	longest := 1
	for i := range sketches {
		if s := &sketches[i]; s.Frames() > 0 && s.HopSeconds > 0 {
			c.tracks[i] = courseOf(s)
			longest = max(longest, c.tracks[i].frames)
		}
	}
	c.size = align.Size(2 * longest)
	c.fft = fourier.NewFFT(c.size)
	return c
}

func courseOf(s *Sketch) course {
	n := max(1, int(float64(s.Frames())*s.HopSeconds/CourseHop))
	c := course{frames: n}
	var energy float64
	for b := range c.rise {
		level := make([]float64, n)
		top := math.Inf(-1)
		for t := range level {
			f := min(int((float64(t)+0.5)*CourseHop/s.HopSeconds), s.Frames()-1)
			var p float64
			for _, code := range s.Envelope[f*bands+b*bands/courseBands : f*bands+(b+1)*bands/courseBands] {
				p += envelopePower(code)
			}
			level[t] = math.Inf(-1)
			if p > 0 {
				level[t] = 10 * math.Log10(p)
			}
			top = max(top, level[t])
		}
		c.rise[b] = make([]float64, n)
		if math.IsInf(top, -1) {
			continue
		}
		var mean float64
		before := max(level[0], top-courseRange)
		for t, l := range level {
			l = max(l, top-courseRange)
			c.rise[b][t] = max(l-before, 0)
			mean += c.rise[b][t] / float64(n)
			before = l
		}
		for t := range c.rise[b] {
			c.rise[b][t] -= mean
			energy += c.rise[b][t] * c.rise[b][t]
		}
	}
	if energy > 0 {
		for b := range c.rise {
			for t := range c.rise[b] {
				c.rise[b][t] /= math.Sqrt(energy)
			}
		}
	}
	return c
}

// transform is the spectrum of the bands of a track, made once.
func (c *Courses) transform(i int) *[courseBands][]complex128 {
	t := &c.tracks[i]
	if t.size != c.size {
		t.size = c.size
		for b := range t.rise {
			x := make([]float64, c.size)
			copy(x, t.rise[b])
			t.spectrum[b] = c.fft.Coefficients(nil, x)
		}
	}
	return &t.spectrum
}

// Alike correlates the rises of track i with those of track j: element n is the correlation where the first sample of i lies
// n hops of 50 ms after the first of j, -1..1. Courses is not for several goroutines at once.
func (c *Courses) Alike(i, j int) []float64 {
	if c.tracks[i].frames == 0 || c.tracks[j].frames == 0 {
		return make([]float64, c.size/2)
	}
	x, y := c.transform(i), c.transform(j)
	sum := make([]complex128, c.size/2+1)
	for b := range x {
		for k, v := range x[b] {
			sum[k] += y[b][k] * complex(real(v), -imag(v))
		}
	}
	out := c.fft.Sequence(nil, sum)
	for k := range out {
		out[k] /= float64(c.size)
	}
	return out[:c.size/2]
}
