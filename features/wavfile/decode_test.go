package wavfile

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestSampleCoding checks each coding at its corners. Expected values follow from the coding's definition in the RIFF
// multimedia specification (8 bit unsigned around 128, wider PCM two's complement) and IEEE 754.
func TestSampleCoding(t *testing.T) {
	f32 := func(v ...float64) (b []byte) {
		for _, x := range v {
			b = le.AppendUint32(b, math.Float32bits(float32(x)))
		}
		return b
	}
	f64 := func(v ...float64) (b []byte) {
		for _, x := range v {
			b = le.AppendUint64(b, math.Float64bits(x))
		}
		return b
	}
	inf, nan := math.Inf(1), math.NaN()
	denormal32, denormal64 := math.SmallestNonzeroFloat32, math.SmallestNonzeroFloat64
	for _, c := range []struct {
		name      string
		format    []byte
		data      []byte
		want      []float64
		nonFinite int64
	}{
		{"8 bit", fmtChunk(tagPCM, 1, 8000, 8), []byte{0, 127, 128, 129, 255},
			[]float64{-1, -1. / 128, 0, 1. / 128, 127. / 128}, 0},
		{"16 bit", fmtChunk(tagPCM, 1, 44100, 16), []byte{0, 0x80, 0xFF, 0xFF, 0, 0, 1, 0, 0xFF, 0x7F},
			[]float64{-1, -1. / 32768, 0, 1. / 32768, 32767. / 32768}, 0},
		{"24 bit", fmtChunk(tagPCM, 1, 96000, 24),
			[]byte{0, 0, 0x80, 0xFF, 0xFF, 0xFF, 0, 0, 0, 1, 0, 0, 0xFF, 0xFF, 0x7F},
			[]float64{-1, -1. / (1 << 23), 0, 1. / (1 << 23), 1 - 1./(1<<23)}, 0},
		{"32 bit", fmtChunk(tagPCM, 1, 384000, 32),
			[]byte{0, 0, 0, 0x80, 0xFF, 0xFF, 0xFF, 0xFF, 0, 0, 0, 0, 1, 0, 0, 0, 0xFF, 0xFF, 0xFF, 0x7F},
			[]float64{-1, -1. / (1 << 31), 0, 1. / (1 << 31), 1 - 1./(1<<31)}, 0},
		{"float 32, beyond full scale, denormal, huge, not finite", fmtChunk(tagFloat, 1, 48000, 32),
			f32(0.5, -3, denormal32, math.MaxFloat32, nan, inf, -inf, 1),
			[]float64{0.5, -3, denormal32, 1, 0, 0, 0, 1}, 3},
		{"float 64, beyond full scale, denormal, huge, not finite", fmtChunk(tagFloat, 1, 48000, 64),
			f64(0.1, -3, denormal64, 1e300, nan, inf, -inf, 1),
			[]float64{0.1, -3, denormal64, 1, 0, 0, 0, 1}, 3},
		{"20 valid bits of 24, left-justified", goodChunk("fmt ", plainFmt(tagPCM, 1, 48000, 20, 3)),
			[]byte{0xF0, 0xFF, 0x7F, 0x10, 0, 0}, []float64{1 - 1./(1<<19), 1. / (1 << 19)}, 0},
		{"24 valid bits of 32, left-justified", extensibleFmt(tagPCM, 1, 48000, 32, 24),
			[]byte{0, 0xFF, 0xFF, 0x7F, 0, 1, 0, 0}, []float64{1 - 1./(1<<23), 1. / (1 << 23)}, 0},
		{"24 bits in 4 bytes, plain header", goodChunk("fmt ", plainFmt(tagPCM, 1, 48000, 24, 4)),
			[]byte{0, 0xFF, 0xFF, 0x7F, 0, 1, 0, 0}, []float64{1 - 1./(1<<23), 1. / (1 << 23)}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := riffFile("RIFF", c.format, dataChunk(c.data))
			r := openBytes(t, file)
			assert.Equal(t, c.want, readAll(t, r, 3))
			assert.Equal(t, c.nonFinite, r.NonFinite())

			r = openBytes(t, file)
			planes := newPlanes[float32](1, len(c.want))
			n, err := r.Read(planes)
			assert.NoError(t, err)
			assert.Equal(t, len(c.want), n)
			for i, v := range c.want {
				assert.Equal(t, float32(v), planes[0][i], "sample %d", i)
			}
			assert.Equal(t, c.nonFinite, r.NonFinite())
		})
	}
}

func floats32(v ...float32) (b []byte) {
	for _, x := range v {
		b = le.AppendUint32(b, math.Float32bits(x))
	}
	return b
}

func floats64(v ...float64) (b []byte) {
	for _, x := range v {
		b = le.AppendUint64(b, math.Float64bits(x))
	}
	return b
}

// Samples beyond 1e20 are rubbish: they read as full scale, are counted, and nothing else changes.
func TestWildSamplesAreBounded(t *testing.T) {
	for _, format := range []struct {
		chunk []byte
		data  []byte
	}{
		{fmtChunk(tagFloat, 1, 48000, 32), floats32(0.5, 1e19, 1.01e20, -1e25, 3e38, -0.25, 2)},
		{fmtChunk(tagFloat, 1, 48000, 64), floats64(0.5, 1e19, 1.01e20, -1e25, 1e300, -0.25, 2)},
	} {
		file := riffFile("RIFF", format.chunk, dataChunk(format.data))
		r := openBytes(t, file)
		got := readAll(t, r, 2)
		assert.InEpsilon(t, 1e19, got[1], 1e-6)
		got[1] = 0
		assert.Equal(t, []float64{0.5, 0, 1, -1, 1, -0.25, 2}, got)
		assert.EqualValues(t, 3, r.Wild())
		assert.Zero(t, r.NonFinite())
		r = openBytes(t, file)
		planes := newPlanes[float32](1, 7)
		_, err := r.Read(planes)
		assert.NoError(t, err)
		planes[0][1] = 0
		assert.Equal(t, []float32{0.5, 0, 1, -1, 1, -0.25, 2}, planes[0])
		assert.EqualValues(t, 3, r.Wild())
	}
}

// TestChannelsLandInTheirPlanes reads frames whose every sample says which channel and frame it is.
func TestChannelsLandInTheirPlanes(t *testing.T) {
	for _, channels := range []int{1, 2, 3, 7, 64} {
		const frames = 500
		var data []byte
		for i := range frames * channels {
			data = append(data, byte(i), byte(i>>8), byte(i>>16))
		}
		for _, block := range []int{1, 99, frames, 4096} {
			r := openBytes(t, riffFile("RIFF", fmtChunk(tagPCM, channels, 48000, 24), dataChunk(data)))
			for i, v := range readAll(t, r, block) {
				if v*(1<<23) != float64(i) {
					t.Fatalf("%d channels, block of %d: sample %d reads %v", channels, block, i, v*(1<<23))
				}
			}
		}
	}
}

// TestBlocksLargerThanTheBuffer crosses the internal buffer's border several times within one call.
func TestBlocksLargerThanTheBuffer(t *testing.T) {
	const frames = 3*rawBytes/2 + 11
	var data []byte
	for i := range frames {
		data = append(data, byte(i), byte(i>>8))
	}
	r := openBytes(t, riffFile("RIFF", fmtChunk(tagPCM, 1, 48000, 16), dataChunk(data)))
	planes := newPlanes[float32](1, frames+5)
	n, err := r.Read(planes)
	assert.NoError(t, err)
	assert.Equal(t, frames, n)
	for i := range n {
		if got := planes[0][i] * 32768; got != float32(int16(i)) {
			t.Fatalf("sample %d reads %v", i, got)
		}
	}
}
