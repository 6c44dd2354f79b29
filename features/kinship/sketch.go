package kinship

import (
	"math"

	"foldout/features/vec"
)

// Fixed layout of every sketch, whatever the sample rate of its file.
const (
	waveRateHz   = 4000  // rate of the kept waveform
	chunkSamples = 16384 // one kept piece: 4.096 s
	scaleBlock   = 256   // samples that share one scale
	maxChunks    = 16    // about 65 s of waveform at most
	bands        = 24    // log-spaced bands of the envelope
	bandLowHz    = 40.0
	bandHighHz   = 16000.0
	maxFrames    = 8192 // of the envelope; beyond it the hop doubles

	emphasis     = 0.95 // first-order pre-emphasis at waveRateHz, so that lows do not drown the rest in rounding
	chunkFloor   = 3e-5 // chunks 45 dB below the loudest hold no music worth comparing
	codeFloorDB  = -115 // envelope code 0: at or below
	codesPerDB   = 2
	leastScaled  = 1e-36 // less has no scale in float32
	longest      = 1e6   // seconds; no session lasts longer
	golden       = 0.6180339887498949
	sparseStride = 0.5 // the share of pieces kept is halved each time the budget is reached
)

// Chunk is one piece of the decimated waveform: 8-bit samples, and one scale for each 256 of them.
type Chunk struct {
	Index int64     // time of the first sample: Index * 4.096 s after the session's zero
	Scale []float32 // full scale 1.0; the value of sample n is Code[n] * Scale[n/256]
	Code  []int8
	Power float64 // mean square of the emphasised waveform
}

// Sketch is what remains of a track for comparing it with others: at most 65 s of its waveform at 4 kHz in 8 bits
// (the same pieces of the session's time in every track, silent pieces left out) and its envelope in 24 log-spaced
// bands from 40 Hz to 16 kHz at the hop of the frame stream, half a decibel a step. It is at most 270 kB of waveform
// and 200 kB of envelope, for any duration, and can be stored with encoding/gob. The zero Sketch is a track without sound.
type Sketch struct {
	Channels        int
	StartSeconds    float64 // time of the first sample, from the file's time reference
	DurationSeconds float64
	Keep            float64 // pieces whose priority is below it are kept if they sound: 1 all, 0.5 half of them ...
	Chunks          []Chunk // ascending Index
	HopSeconds      float64 // of the envelope
	Envelope        []uint8 // frames x 24; code c stands for (c/2 - 115) dB re full scale squared, 0 for less
}

// Frames is the number of envelope frames.
func (s *Sketch) Frames() int { return len(s.Envelope) / bands }

// Silent reports whether the track holds nothing to compare.
func (s *Sketch) Silent() bool { return len(s.Chunks) == 0 }

// priority spreads pieces evenly and without period over 0..1 (golden-ratio sequence), so that keeping those below
// any threshold is fair to all bars of a song, and the pieces of a sparser sketch are a subset of a denser one's.
func priority(index int64) float64 {
	p := float64(index) * golden
	return p - math.Floor(p)
}

// decode writes the waveform of c to dst, which has chunkSamples elements.
func (c *Chunk) decode(dst []float32) {
	n := min(len(c.Code), len(dst), len(c.Scale)*scaleBlock)
	for i := 0; i < n; i += scaleBlock {
		j := min(i+scaleBlock, n)
		vec.Dequantise(dst[i:j], c.Code[i:j], c.Scale[i/scaleBlock])
	}
	clear(dst[n:])
}

// encode fills c from x, chunkSamples elements.
func (c *Chunk) encode(x []float32) {
	if c.Code == nil {
		c.Code, c.Scale = make([]int8, chunkSamples), make([]float32, chunkSamples/scaleBlock)
	}
	c.Power = 0
	var sums [chunkSamples / scaleBlock]vec.Cell
	vec.Cells(sums[:], x, scaleBlock)
	for b, s := range sums {
		c.Power += s.Square / chunkSamples
		code := c.Code[b*scaleBlock : (b+1)*scaleBlock]
		if !(s.Peak > leastScaled) {
			c.Scale[b] = 0
			clear(code)
			continue
		}
		c.Scale[b] = s.Peak / 127
		vec.Quantise(code, x[b*scaleBlock:][:scaleBlock], 127/s.Peak)
	}
}

// chunk returns the piece with the given index, or nil.
func (s *Sketch) chunk(index int64) *Chunk {
	for i := range s.Chunks {
		if s.Chunks[i].Index == index {
			return &s.Chunks[i]
		}
	}
	return nil
}

// valid reports whether a Sketcher could have made s; what came from a file may be damaged.
func (s *Sketch) valid() bool {
	if !(s.StartSeconds >= 0 && s.StartSeconds < longest) || !(s.Keep > 0 && s.Keep <= 1) || len(s.Chunks) > maxChunks {
		return false
	}
	if !(s.DurationSeconds >= 0 && s.DurationSeconds < longest) {
		return false
	}
	if len(s.Envelope)%bands != 0 || s.Frames() > maxFrames || len(s.Envelope) > 0 && !(s.HopSeconds > 1e-6 && s.HopSeconds < longest) {
		return false
	}
	for i, c := range s.Chunks {
		if len(c.Code) != chunkSamples || len(c.Scale) != chunkSamples/scaleBlock || !(c.Power > 0 && c.Power < math.MaxFloat32) {
			return false
		}
		if i > 0 && c.Index <= s.Chunks[i-1].Index || c.Index < 0 || c.Index > 1<<40 {
			return false
		}
		for _, v := range c.Scale {
			if !(v >= 0 && v*v < math.MaxFloat32) {
				return false
			}
		}
	}
	return true
}
