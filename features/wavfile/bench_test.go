package wavfile

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// benchFile is 8 MiB of a sine in any coding.
func benchFile(b *testing.B, tag, container, channels int) []byte {
	b.Helper()
	const megabytes = 8
	data := make([]byte, megabytes<<20/(container*channels)*(container*channels))
	for i := 0; i+container <= len(data); i += container {
		v := math.Sin(float64(i))
		switch {
		case tag == tagFloat && container == 4:
			binary.LittleEndian.PutUint32(data[i:], math.Float32bits(float32(v)))
		case tag == tagFloat:
			binary.LittleEndian.PutUint64(data[i:], math.Float64bits(v))
		default:
			var word [4]byte
			binary.LittleEndian.PutUint32(word[:], uint32(int32(v*math.MaxInt32)))
			copy(data[i:i+container], word[4-container:])
		}
	}
	return riffFile("RIFF", fmtChunk(tag, channels, 48000, container*8), dataChunk(data))
}

// BenchmarkDecode measures bytes of file a second from memory, so decoding alone.
func BenchmarkDecode(b *testing.B) {
	for _, c := range []struct {
		name           string
		tag, container int
	}{
		{"pcm8", tagPCM, 1}, {"pcm16", tagPCM, 2}, {"pcm24", tagPCM, 3}, {"pcm32", tagPCM, 4},
		{"float32", tagFloat, 4}, {"float64", tagFloat, 8},
	} {
		for _, channels := range []int{1, 2, 8} {
			b.Run(fmt.Sprintf("%s/%dch", c.name, channels), func(b *testing.B) {
				file := benchFile(b, c.tag, c.container, channels)
				planes := newPlanes[float32](channels, 4096)
				b.SetBytes(int64(len(file)))
				b.ReportAllocs()
				for b.Loop() {
					r, err := newReader("bench", bytes.NewReader(file), int64(len(file)))
					require.NoError(b, err)
					for err == nil {
						_, err = r.Read(planes)
					}
					require.ErrorIs(b, err, io.EOF)
				}
			})
		}
	}
}

// BenchmarkWrite measures bytes of file a second, into a real file.
func BenchmarkWrite(b *testing.B) {
	planes := newPlanes[float32](2, 4096)
	for _, p := range planes {
		for i := range p {
			p[i] = float32(math.Sin(float64(i)))
		}
	}
	for _, c := range []struct {
		name string
		f    Format
	}{
		{"pcm16", Format{48000, 2, PCM16, nil, false, 0}},
		{"pcm24", Format{48000, 2, PCM24, nil, false, 0}},
		{"pcm24dither", Format{48000, 2, PCM24, nil, true, 1}},
		{"float32", Format{48000, 2, Float32, nil, false, 0}},
	} {
		b.Run(c.name, func(b *testing.B) {
			w, err := Create(filepath.Join(b.TempDir(), "b.wav"), c.f, false)
			require.NoError(b, err)
			b.SetBytes(int64(4096 * c.f.blockAlign()))
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, w.Write(planes))
			}
			require.NoError(b, w.Abort())
		})
	}
}
