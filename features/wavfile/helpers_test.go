package wavfile

import (
	"bytes"
	"encoding/binary"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
)

var le = binary.LittleEndian

// rawChunk is a chunk whose header claims size, whatever the payload; no pad byte is added.
func rawChunk(id string, size uint32, payload []byte) []byte {
	return append(le.AppendUint32([]byte(id), size), payload...)
}

func goodChunk(id string, payload []byte) []byte { return appendChunk(nil, id, payload) }

func dataChunk(samples []byte) []byte { return goodChunk("data", samples) }

// riffFile joins chunks behind a header with the right RIFF size (0xFFFFFFFF for RF64 and BW64).
func riffFile(container string, chunks ...[]byte) []byte {
	body := bytes.Join(chunks, nil)
	size := uint32(len(body) + 4)
	if container != "RIFF" {
		size = unknownSize
	}
	return append(rawChunk(container, size, []byte("WAVE")), body...)
}

// fmtChunk is a plain 16-byte format chunk.
func fmtChunk(tag, channels, rate, bits int) []byte {
	return goodChunk("fmt ", plainFmt(tag, channels, rate, bits, channels*((bits+7)/8)))
}

func plainFmt(tag, channels, rate, bits, align int) []byte {
	p := le.AppendUint16(nil, uint16(tag))
	p = le.AppendUint16(p, uint16(channels))
	p = le.AppendUint32(p, uint32(rate))
	p = le.AppendUint32(p, uint32(rate*align))
	p = le.AppendUint16(p, uint16(align))
	return le.AppendUint16(p, uint16(bits))
}

// extensibleFmt is a 40-byte format chunk; container and valid are bits.
func extensibleFmt(subTag, channels, rate, container, valid int) []byte {
	p := plainFmt(tagExtensible, channels, rate, container, channels*container/8)
	p = le.AppendUint16(p, 22)
	p = le.AppendUint16(p, uint16(valid))
	p = le.AppendUint32(p, 0)
	p = le.AppendUint16(p, uint16(subTag))
	return goodChunk("fmt ", append(p, guidTail...))
}

// ds64 is the chunk of 64-bit sizes with an optional table.
func ds64(riffSize, dataSize, frames uint64, table ...byte) []byte {
	p := le.AppendUint64(nil, riffSize)
	p = le.AppendUint64(p, dataSize)
	p = le.AppendUint64(p, frames)
	p = le.AppendUint32(p, uint32(len(table)/12))
	return goodChunk("ds64", append(p, table...))
}

// ints16 is 16-bit PCM.
func ints16(v ...int16) []byte {
	var b []byte
	for _, s := range v {
		b = le.AppendUint16(b, uint16(s))
	}
	return b
}

func newPlanes[T sample](channels, frames int) [][]T {
	planes := make([][]T, channels)
	for ch := range planes {
		planes[ch] = make([]T, frames)
	}
	return planes
}

// openBytes reads a file held in memory.
func openBytes(t testing.TB, file []byte) *Reader {
	t.Helper()
	r, err := newReader("test.wav", bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	return r
}

// readAll reads everything in blocks of the given number of frames and interleaves it.
func readAll(t testing.TB, r *Reader, block int) []float64 {
	t.Helper()
	planes := newPlanes[float64](r.Info().Channels, block)
	all := []float64{}
	for {
		n, err := r.ReadFloat64(planes)
		for i := range n {
			for _, p := range planes {
				all = append(all, p[i])
			}
		}
		if err == io.EOF {
			require.Zero(t, n)
			require.Equal(t, r.Info().Frames*int64(len(planes)), int64(len(all)))
			return all
		}
		require.NoError(t, err)
		require.Positive(t, n)
	}
}
