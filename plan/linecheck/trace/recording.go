package trace

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"foldout/features/wavfile"
)

// recording is the return, read by pieces.
type recording struct {
	path   string
	info   wavfile.Info
	rate   float64
	peak   float64
	clips  clipping
	events *chirpEvents
}

// open looks at the header and refuses what cannot be a stereo return.
func open(path string) (*recording, error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	info := r.Info()
	if info.Channels > 2 {
		return nil, fmt.Errorf("%s has %d channels; trace wants the stereo return alone: export the print track as one stereo file", path, info.Channels)
	}
	if info.SampleRateHz < minRateHz {
		return nil, fmt.Errorf("%s is at %d Hz, too low to hold the tones; record the return at the rate of the tones", path, info.SampleRateHz)
	}
	return &recording{path: path, info: info, rate: float64(info.SampleRateHz)}, nil
}

const minRateHz = 22050

// scan reads all of it once: peak, clipping, and where chirps may be.
func (r *recording) scan(ctx context.Context, rate float64, progress func(done, total int64)) error {
	f, err := wavfile.Open(r.path)
	if err != nil {
		return err
	}
	defer f.Close()
	const size = 1 << 16
	planes := make([][]float32, r.info.Channels)
	whole := make([][]float32, len(planes))
	for c := range whole {
		whole[c] = make([]float32, size)
	}
	finder := newChirpFinder(rate, len(planes))
	r.clips = newClipping(r.info)
	var frames int64
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := f.Read(whole)
		if n > 0 {
			for c := range planes {
				planes[c] = whole[c][:n]
			}
			r.clips.write(planes, frames)
			finder.write(planes)
			frames += int64(n)
			if progress != nil {
				progress(frames, r.info.Frames)
			}
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
	}
	r.events = finder.finish()
	r.peak = r.clips.peak
	return nil
}

// cut reads frames from..to of every channel; what lies outside the recording reads as silence.
func (r *recording) cut(from, to int64) ([][]float64, error) {
	f, err := wavfile.Open(r.path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	out := make([][]float64, r.info.Channels)
	for c := range out {
		out[c] = make([]float64, to-from)
	}
	first, last := max(0, from), min(to, r.info.Frames)
	if first >= last {
		return out, nil
	}
	if err := f.SeekFrame(first); err != nil {
		return nil, err
	}
	part := make([][]float64, len(out))
	for first < last {
		for c := range out {
			part[c] = out[c][first-from : last-from]
		}
		n, err := f.ReadFloat64(part)
		first += int64(n)
		if err != nil {
			if errors.Is(err, io.EOF) {
				break
			}
			return nil, err
		}
	}
	return out, nil
}

// clipping counts samples that stand at the ceiling: at full scale, or in flat tops below it, as an overdriven converter
// or unit leaves them.
type clipping struct {
	step    float64 // of the format
	ceiling float64 // full scale as the format writes it
	peak    float64
	full    int64 // samples at full scale, fixed-point files
	over    int64 // samples beyond full scale, float files
	tops    [2]flatTop
	fullAt  []int64
	apart   int64 // frames between places that are kept
}

type flatTop struct {
	value float64 // the highest flat top so far
	count int64
	at    []int64 // frames
	run   int64
	last  float32
	steep bool // the run began with a jump
}

const (
	flatRun  = 3  // samples in a row that make a flat top
	flatJump = 20 // steps of the format that lead up to it and down from it
)

func newClipping(info wavfile.Info) clipping {
	bits := min(info.BitDepth, 24)
	c := clipping{step: math.Pow(2, -float64(bits-1)), apart: int64(info.SampleRateHz / 10)}
	c.ceiling = 1 - 1.5*c.step
	if info.Float {
		c.step, c.ceiling = math.Pow(2, -22), math.Inf(1)
	}
	return c
}

func (c *clipping) write(planes [][]float32, frame int64) {
	for side, x := range planes {
		top := &c.tops[side]
		for i, v := range x {
			a := math.Abs(float64(v))
			if a > c.peak {
				c.peak = a
			}
			if a >= c.ceiling {
				c.full++
				c.fullAt = c.keep(c.fullAt, frame+int64(i))
			}
			if a > 1 {
				c.over++
			}
			if v == top.last {
				top.run++
				continue
			}
			if top.run >= flatRun {
				c.close(top, math.Abs(float64(top.last-v)) > flatJump*c.step, frame+int64(i))
			}
			top.steep = math.Abs(float64(v-top.last)) > flatJump*c.step
			top.run, top.last = 1, v
		}
	}
}

// keep notes a place, if it is not just after the last one.
func (c *clipping) keep(list []int64, frame int64) []int64 {
	if n := len(list); n > 0 && frame-list[n-1] < c.apart {
		return list
	}
	return append(list, frame)
}

// close ends a run of equal samples.
func (c *clipping) close(t *flatTop, steep bool, frame int64) {
	a := math.Abs(float64(t.last))
	if !steep || !t.steep || a < t.value {
		return
	}
	if a > t.value {
		t.value, t.count, t.at = a, 0, nil
	}
	t.count += t.run
	t.at = c.keep(t.at, frame)
}

// samples is the number of clipped samples, with the frames where it happened.
func (c *clipping) samples() (n int64, at []int64) {
	n, at = c.full, c.fullAt
	for _, t := range c.tops {
		if t.count >= 2*flatRun && t.value < c.ceiling && t.value >= 0.97*c.peak {
			n += t.count
			at = append(at, t.at...)
		}
	}
	return n, at
}
