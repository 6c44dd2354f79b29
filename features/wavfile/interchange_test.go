package wavfile

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/go-audio/wav"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestOtherProgramsReadWhatIsWritten compares the samples that FFmpeg, SoX and github.com/go-audio/wav (whose decoder this
// package does not use) find in our files with those put in. (Checked with 5.1.9, 14.4.2 and 1.1.0.)
func TestOtherProgramsReadWhatIsWritten(t *testing.T) {
	type made struct {
		name, path string
		c          coding
		want       []float64
		raw        []byte
	}
	dir := t.TempDir()
	var files []made
	for e, c := range written {
		for _, channels := range []int{1, 2, 5} {
			m := made{name: fmt.Sprintf("%s %dch", c.name, channels), c: c}
			m.path = filepath.Join(dir, m.name+".wav")
			m.want, m.raw = knownSamples(c, 333*channels)
			f := Format{SampleRateHz: 48000, Channels: channels, Encoding: e, Bext: &Bext{Description: "Lane 1", TimeReference: 172800000}}
			writeFile(t, m.path, f, planesOf[float64](m.want, channels), 100)
			files = append(files, m)
		}
	}
	t.Run("FFmpeg", func(t *testing.T) {
		inputs, outputs := []string{"-v", "error"}, []string(nil)
		for i, m := range files {
			inputs = append(inputs, "-i", m.path)
			outputs = append(outputs, "-map", strconv.Itoa(i), "-f", m.c.raw, "-c:a", m.c.codec, m.path+".raw")
		}
		run(t, nil, "ffmpeg", append(inputs, outputs...)...)
		for _, m := range files {
			got, err := os.ReadFile(m.path + ".raw")
			require.NoError(t, err)
			assert.True(t, string(m.raw) == string(got), m.name)
		}
		tags := string(run(t, nil, "ffprobe", "-v", "error", "-show_entries", "format_tags", files[0].path))
		assert.Contains(t, tags, "comment=Lane 1")
		assert.Contains(t, tags, "time_reference=172800000")
	})
	t.Run("SoX", func(t *testing.T) {
		for _, m := range files {
			got := run(t, nil, "sox", "-D", m.path, "-t", "raw", "-e", m.c.soxType, "-b", strconv.Itoa(m.c.bits), "-")
			assert.True(t, string(m.raw) == string(got), m.name)
		}
	})
	t.Run("go-audio", func(t *testing.T) {
		for _, m := range files {
			if m.c.float {
				continue // it decodes integers only
			}
			file, err := os.Open(m.path)
			require.NoError(t, err)
			buf, err := wav.NewDecoder(file).FullPCMBuffer()
			require.NoError(t, err)
			require.NoError(t, file.Close())
			got := make([]float64, len(buf.Data))
			for i, v := range buf.Data {
				got[i] = float64(v) / math.Exp2(float64(m.c.bits-1))
			}
			require.GreaterOrEqual(t, len(got), len(m.want))
			requireSamples(t, m.want, got[:len(m.want)]) // after odd data it takes the pad byte for one more sample
		}
	})
}
