package kinship

import (
	"bytes"
	"encoding/gob"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSketchIsBounded: 20 minutes of sound stay within what the documentation of Sketch promises.
func TestSketchIsBounded(t *testing.T) {
	s := NewSketcher(8000, 1)
	block := [][]float32{whiteNoise(8000, 1, 0.1)}
	frame := make([]float32, 513)
	for i := range frame {
		frame[i] = 1e-6
	}
	for range 1200 {
		s.Write(block)
		for range 16 {
			s.Frame(frame)
		}
	}
	k := s.Sketch()
	assert.LessOrEqual(t, len(k.Chunks), maxChunks)
	assert.GreaterOrEqual(t, len(k.Chunks), maxChunks/4)
	assert.LessOrEqual(t, k.Frames(), maxFrames)
	assert.InDelta(t, 1200, k.DurationSeconds, 1e-9)
	assert.InDelta(t, 1200*16, float64(k.Frames())*k.HopSeconds*15.625, 2*k.HopSeconds*15.625)
	var b bytes.Buffer
	require.NoError(t, gob.NewEncoder(&b).Encode(k))
	assert.Less(t, b.Len(), 500_000)
	var back Sketch
	require.NoError(t, gob.NewDecoder(&b).Decode(&back))
	assert.Equal(t, k, back)
	assert.True(t, back.valid())
	for _, c := range k.Chunks {
		assert.Less(t, priority(c.Index), k.Keep)
	}
}

// TestBlockLength: the sketch does not depend on how the samples arrive.
func TestBlockLength(t *testing.T) {
	x := notes(10, testRate, 1, 1)
	y := hits(10, testRate, 1, 0, 2)
	sketch := func(block int) Sketch {
		s := NewSketcher(testRate, 2)
		for i := 0; i < len(x); i += block {
			s.Write([][]float32{x[i:min(len(x), i+block)], y[i:min(len(x), i+block)]})
		}
		return s.Sketch()
	}
	want := sketch(4096)
	require.NotEmpty(t, want.Chunks)
	for _, block := range []int{1, 17, 1000, 480000} {
		assert.Equal(t, want, sketch(block), block)
	}
}

// TestDecimator: sines come out at 4 kHz with their level and on time, and what lies above the band is kept out.
// Expected values: a sine's amplitude, and the bounds stated at decimator.
func TestDecimator(t *testing.T) {
	for _, rate := range []int{8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 192000, 384000} {
		for _, c := range []struct{ hz, low, high float64 }{{100, -0.1, 0.1}, {1000, -0.6, 0.2}, {1500, -1.5, 0.3}, {2600, -200, -30}, {9000, -200, -24}} {
			if c.hz > 0.45*float64(rate) {
				continue
			}
			d := newDecimator(rate, 1)
			d.startAt(0)
			x := make([]float32, rate)
			for i := range x {
				x[i] = float32(math.Sin(2 * math.Pi * c.hz * float64(i) / float64(rate)))
			}
			var y []float32
			for part := range slices.Chunk(x, unit) {
				d.write(1, part)
				y = append(y, d.lanes[0].out...)
			}
			d.finish(1)
			y = append(y, d.lanes[0].out...)
			require.Greater(t, len(y), 3900, "%d Hz", rate)
			var re, im float64
			for m := 1000; m < 3000; m++ {
				s, k := math.Sincos(2 * math.Pi * c.hz * float64(m) / waveRateHz)
				re += float64(y[m]) * s
				im += float64(y[m]) * k
			}
			level := 20 * math.Log10(math.Hypot(re, im)/1000)
			assert.GreaterOrEqual(t, level, c.low, "%d Hz at %d Hz", int(c.hz), rate)
			assert.LessOrEqual(t, level, c.high, "%d Hz at %d Hz", int(c.hz), rate)
			if c.hz <= 1000 {
				assert.InDelta(t, 0, math.Atan2(im, re)/(2*math.Pi*c.hz), 5e-6, "delay at %d Hz", rate)
			}
		}
	}
}

// TestOddInput: nothing here may panic; what comes out must be valid.
func TestOddInput(t *testing.T) {
	nan, inf := float32(math.NaN()), float32(math.Inf(1))
	cases := map[string]func(*Sketcher){
		"nothing":       func(s *Sketcher) {},
		"no planes":     func(s *Sketcher) { s.Write(nil) },
		"empty planes":  func(s *Sketcher) { s.Write([][]float32{{}, {}}) },
		"one sample":    func(s *Sketcher) { s.Write([][]float32{{1}, {1}}) },
		"missing plane": func(s *Sketcher) { s.Write([][]float32{whiteNoise(50000, 1, 1)}) },
		"shorter plane": func(s *Sketcher) { s.Write([][]float32{whiteNoise(50000, 1, 1), whiteNoise(20, 1, 1)}) },
		"not a number":  func(s *Sketcher) { s.Write([][]float32{{nan, 1, inf}, {-inf, nan, 0}}) },
		"huge":          func(s *Sketcher) { s.Write([][]float32{gain(whiteNoise(50000, 1, 1), 1e30), nil}) },
		"tiny":          func(s *Sketcher) { s.Write([][]float32{gain(whiteNoise(50000, 1, 1), 1e-30), nil}) },
		"constant":      func(s *Sketcher) { s.Write([][]float32{make([]float32, 50000), gain(make([]float32, 50000), 1)}) },
		"frames": func(s *Sketcher) {
			s.Frame(nil)
			s.Frame([]float32{1})
			s.Frame([]float32{1, nan, inf})
			s.Frame(make([]float32, 9))
		},
		"late reference": func(s *Sketcher) { s.Write([][]float32{{1}, {1}}); s.SetTimeReference(5) },
		"negative":       func(s *Sketcher) { s.SetTimeReference(-5) },
		"first minute of a day": func(s *Sketcher) {
			s.SetTimeReference(86399 * 48000)
			s.Write([][]float32{whiteNoise(50000, 1, 1), nil})
		},
	}
	other := sketchOf(testRate, 0, notes(3, testRate, 1, 1))
	for name, feed := range cases {
		for _, rate := range []int{-1, 1, 100, 48000} {
			if rate < 100 && (name == "missing plane" || name == "shorter plane" || name == "huge" || name == "tiny" || name == "constant" || name[0] == 'f') {
				continue // hours of sound
			}
			if underRaceDetector && rate == 100 {
				continue // minutes of sound
			}
			for _, channels := range []int{-3, 2, 5} {
				s := NewSketcher(rate, channels)
				feed(s)
				k := s.Sketch()
				assert.True(t, k.valid() || k.Silent(), "%s at %d Hz", name, rate)
				Relate([]Sketch{k, other, k})
			}
		}
	}
}

// TestCancelledMid: channels that cancel are followed by the left one.
func TestCancelledMid(t *testing.T) {
	x := notes(8, testRate, 1, 1)
	k := sketchOf(testRate, 0, x, gain(x, -1))
	assert.False(t, k.Silent())
	assert.Len(t, k.Chunks, len(sketchOf(testRate, 0, x).Chunks))
}

func TestNoAllocation(t *testing.T) {
	s := NewSketcher(testRate, 2)
	block := [][]float32{whiteNoise(4096, 1, 0.1), whiteNoise(4096, 2, 0.1)}
	for range 2000 { // past the first thinning
		s.Write(block)
	}
	assert.LessOrEqual(t, testing.AllocsPerRun(500, func() { s.Write(block) }), 0.1)
}

// FuzzCompare: sketches from a damaged cache must not crash.
func FuzzCompare(f *testing.F) {
	good := sketchOf(8000, 0, notes(6, 8000, 1, 1))
	var b bytes.Buffer
	require.NoError(f, gob.NewEncoder(&b).Encode(good))
	f.Add(b.Bytes()[:4000], 0.04, 0.0, 1.0)
	f.Add([]byte{1, 2, 3}, math.Inf(1), math.NaN(), -1.0)
	f.Fuzz(func(t *testing.T, code []byte, hop, start, duration float64) {
		odd := Sketch{Channels: 1, StartSeconds: start, DurationSeconds: duration, Keep: 1, HopSeconds: hop, Envelope: code[:len(code)/bands*bands]}
		c := Chunk{Index: 1, Code: make([]int8, chunkSamples), Scale: make([]float32, chunkSamples/scaleBlock), Power: 1e-3}
		for i := range c.Scale {
			c.Scale[i] = float32(hop)
		}
		for i, v := range code {
			c.Code[i%chunkSamples] = int8(v)
		}
		odd.Chunks = []Chunk{c}
		r := Compare([]Sketch{good, odd, good, {Chunks: odd.Chunks}, {Envelope: code}})
		r.Relations()
	})
}
