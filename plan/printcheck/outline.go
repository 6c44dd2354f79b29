package printcheck

import (
	"context"
	"math"

	"foldout/features/fft"
)

// Outline: the course of a file's level in a few bands, by which a print is placed on its mix before any sample is
// compared. Steps of 10 ms are fine enough for the search that follows, and coarse enough that clocks apart by 500 ppm
// stay together for 20 s.
const (
	outlineHz    = 100 // frames a second
	outlineBands = 6
	floorShare   = 1e-4 // of a band's mean energy: below it the course of the level says nothing
)

var outlineEdges = [outlineBands + 1]float64{50, 150, 400, 1000, 2500, 6000, 14000}

// outline holds the change of level per band (log energy, one frame to the next), and the energy, frame by frame.
type outline struct {
	change [outlineBands][]float32
	energy []float32 // mean square of both sides
	peak   float64   // highest sample
}

func (o *outline) frames() int { return len(o.energy) }

// seconds that pass in n frames.
func outlineSeconds(n int) float64 { return float64(n) / outlineHz }

// outlineOf reads a whole file.
func outlineOf(ctx context.Context, s *source) (*outline, error) {
	hop := float64(s.rate) / outlineHz
	width := int(2 * hop)
	size := fft.MinSize
	for size < width {
		size *= 2
	}
	t := fft.New(size)
	window := make([]float32, size)
	for i := range width {
		w := math.Sin(math.Pi * (float64(i) + 0.5) / float64(width))
		window[i] = float32(w * w)
	}
	var edges [outlineBands + 1]int
	for b, f := range outlineEdges {
		edges[b] = min(size/2, max(1, int(math.Round(f*float64(size)/float64(s.rate)))))
	}
	count := int(float64(s.frames) / hop)
	o := &outline{energy: make([]float32, 0, count)}
	for b := range o.change {
		o.change[b] = make([]float32, 0, count)
	}
	left, right := make([]float32, size), make([]float32, size)
	block := [2][]float32{make([]float32, 1<<16), make([]float32, 1<<16)}
	power := make([]float32, size/2+1)
	held, heldTo := int64(0), int64(0)
	for i := range count {
		start := int64(math.Round(float64(i) * hop))
		if start+int64(width) > heldTo {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if err := s.read(start, block[0], block[1]); err != nil {
				return nil, err
			}
			held, heldTo = start, start+int64(len(block[0]))
		}
		copy(left, block[0][start-held:][:width])
		copy(right, block[1][start-held:][:width])
		var sum float32
		for n := range int(hop) {
			sum += left[n]*left[n] + right[n]*right[n]
			o.peak = max(o.peak, math.Abs(float64(left[n])), math.Abs(float64(right[n])))
		}
		o.energy = append(o.energy, sum/float32(2*int(hop)))
		t.Transform(left, right, window)
		t.Power(power, false)
		for b := range o.change {
			var e float32
			for _, p := range power[edges[b]:edges[b+1]] {
				e += p
			}
			o.change[b] = append(o.change[b], e)
		}
	}
	for b := range o.change {
		o.change[b] = differences(o.change[b])
	}
	return o, nil
}

// differences turns energies into changes of level, scaled to a mean square of 1; a silent band gives zeros.
func differences(e []float32) []float32 {
	var mean float64
	for _, v := range e {
		mean += float64(v)
	}
	if mean == 0 {
		return e
	}
	floor := mean / float64(len(e)) * floorShare
	last := math.Log(float64(e[0]) + floor)
	var square float64
	for i, v := range e {
		level := math.Log(float64(v) + floor)
		d := level - last
		last = level
		e[i] = float32(d)
		square += d * d
	}
	if square > 0 {
		scale := float32(1 / math.Sqrt(square/float64(len(e))))
		for i := range e {
			e[i] *= scale
		}
	}
	return e
}
