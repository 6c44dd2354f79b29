package wavfile

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// The kernels must give what plain Go gives, to the bit, for any length, stride and content.
func compareUnpackers(t *testing.T, f sampleFormat, data []byte, samples, channels, skip int) {
	t.Helper()
	stride := f.container * channels
	raw := data[skip*f.container:]
	samples = min(samples, max(0, (len(raw)-slack-f.container)/stride))
	want, got := make([]float32, samples), make([]float32, samples)
	bad := newUnpacker[float32](f)(want, raw, stride)
	require.Equal(t, bad, newUnpacker32(f)(got, raw, stride))
	for i, w := range want {
		require.Equal(t, math.Float32bits(w), math.Float32bits(got[i]), "%+v, %d channels, sample %d of %d", f, channels, i, samples)
	}
}

func everyFormat() []sampleFormat {
	return []sampleFormat{{container: 1}, {container: 2}, {container: 3}, {container: 4}, {container: 4, float: true}, {container: 8, float: true}}
}

func TestKernelsEqualPlainGo(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	data := make([]byte, 20000)
	for i := range data {
		data[i] = byte(r.Uint32())
	}
	for i := 0; i < len(data)-4; i += 4 * (1 + r.IntN(40)) { // values that are not finite, and denormal ones
		binary.LittleEndian.PutUint32(data[i:], []uint32{0x7F800000, 0xFFC00000, 1, 0x80000001}[r.IntN(4)])
	}
	for _, f := range everyFormat() {
		for channels := 1; channels <= 4; channels++ {
			for samples := range 70 {
				for skip := range channels {
					compareUnpackers(t, f, data[:(samples+1)*channels*f.container+slack], samples, channels, skip)
				}
			}
			compareUnpackers(t, f, data, 1<<20, channels, 0)
		}
	}
}

func FuzzKernelsEqualPlainGo(f *testing.F) {
	f.Add([]byte("RIFF samples of any kind, and long enough for a kernel to have something to do\x00\x00\x80\x7F"), uint8(1), uint8(2), uint16(16))
	f.Fuzz(func(t *testing.T, data []byte, kind, channels uint8, samples uint16) {
		formats := everyFormat()
		if len(data) < 80 {
			return
		}
		compareUnpackers(t, formats[int(kind)%len(formats)], data, int(samples), 1+int(channels)%4, 0)
	})
}

func BenchmarkUnpack(b *testing.B) {
	for _, f := range everyFormat()[1:5] {
		for channels := 1; channels <= 2; channels++ {
			raw, dst := make([]byte, 4096*channels*f.container+slack), make([]float32, 4096)
			for name, unpack := range map[string]unpacker[float32]{"as built": newUnpacker32(f), "plain Go": newUnpacker[float32](f)} {
				b.Run(fmt.Sprintf("%d bytes, float %v, %d channels, %s", f.container, f.float, channels, name), func(b *testing.B) {
					for b.Loop() {
						unpack(dst, raw, channels*f.container)
					}
					b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/4096, "ns/sample")
				})
			}
		}
	}
}
