package wavfile

import (
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// writeFile writes planes in blocks of the given size and returns the number of clipped samples.
func writeFile[T sample](t testing.TB, path string, f Format, planes [][]T, block int) int64 {
	t.Helper()
	w, err := Create(path, f, false)
	require.NoError(t, err)
	for from := 0; from < len(planes[0]); from += block {
		part := make([][]T, len(planes))
		for ch := range planes {
			part[ch] = planes[ch][from:min(from+block, len(planes[ch]))]
		}
		require.NoError(t, write(w, part))
	}
	require.NoError(t, w.Close())
	require.NoError(t, w.Abort(), "after Close it does nothing")
	return w.Clipped()
}

func planesOf[T sample](values []float64, channels int) [][]T {
	planes := newPlanes[T](channels, len(values)/channels)
	for i, v := range values {
		planes[i%channels][i/channels] = T(v)
	}
	return planes
}

// written are the encodings of Writer with their row in codings.
var written = map[Encoding]coding{PCM16: codings[1], PCM24: codings[2], Float32: codings[4]}

// TestRoundTrip writes known samples and reads the same ones back, bit for bit, from both precisions.
func TestRoundTrip(t *testing.T) {
	for e, c := range written {
		for _, channels := range []int{1, 2, 3, 64} {
			t.Run(c.name+" "+strconv.Itoa(channels)+"ch", func(t *testing.T) {
				want, _ := knownSamples(c, 1001*channels)
				f := Format{SampleRateHz: 88200, Channels: channels, Encoding: e}
				for _, block := range []int{1001, 64, 1} {
					dir := t.TempDir()
					assert.Zero(t, writeFile(t, filepath.Join(dir, "32.wav"), f, planesOf[float32](want, channels), block))
					assert.Zero(t, writeFile(t, filepath.Join(dir, "64.wav"), f, planesOf[float64](want, channels), block))
					checkFile(t, filepath.Join(dir, "32.wav"), want, channels, 88200, c)
					r := checkFile(t, filepath.Join(dir, "64.wav"), want, channels, 88200, c)
					assert.Empty(t, r.Info().Notes)
				}
			})
		}
	}
}

// TestRoundingAndClipping checks values between and beyond the steps. Round half to even is IEEE 754's default; full
// scale of b bits reaches from -2^(b-1) to 2^(b-1)-1.
func TestRoundingAndClipping(t *testing.T) {
	const step = 1. / 32768
	in := []float64{0.49 * step, 0.5 * step, 0.51 * step, 1.5 * step, -0.5 * step, -0.51 * step, 1 - step, 1 - 0.6*step, 1, 7, -1, -1 - 0.4*step, -1 - 0.6*step, -7, math.MaxFloat64, 0}
	want := []float64{0, 0, 1, 2, 0, -1, 32767, 32767, 32767, 32767, -32768, -32768, -32768, -32768, 32767, 0}
	path := filepath.Join(t.TempDir(), "clip.wav")
	clipped := writeFile(t, path, Format{SampleRateHz: 48000, Channels: 1, Encoding: PCM16}, [][]float64{in}, 100)
	assert.EqualValues(t, 5, clipped, "1, 7, -1 - 0.6 steps, -7 and the largest float64")
	r, err := Open(path)
	require.NoError(t, err)
	got := readAll(t, r, 100)
	require.NoError(t, r.Close())
	for i := range got {
		got[i] *= 32768
	}
	assert.Equal(t, want, got)

	path = filepath.Join(t.TempDir(), "float.wav")
	clipped = writeFile(t, path, Format{SampleRateHz: 48000, Channels: 1, Encoding: Float32}, [][]float64{{7, -7, 1e300, -1e300}}, 100)
	assert.EqualValues(t, 2, clipped, "float32 holds the first two")
	r, err = Open(path)
	require.NoError(t, err)
	assert.Equal(t, []float64{7, -7, 1, -1}, readAll(t, r, 100))
	require.NoError(t, r.Close())
}

// TestHeaderBytes checks a header against WAVEFORMATEXTENSIBLE and EBU Tech 3306: JUNK of 28 bytes first, then what the
// encoding asks for.
func TestHeaderBytes(t *testing.T) {
	for _, c := range []struct {
		f      Format
		chunks string // id and size in order
		tag    uint16
		mask   uint32
	}{
		{Format{SampleRateHz: 48000, Channels: 1, Encoding: PCM16}, "JUNK 28 fmt  16 data 14", tagPCM, 0},
		{Format{SampleRateHz: 48000, Channels: 2, Encoding: PCM16}, "JUNK 28 fmt  16 data 28", tagPCM, 0},
		{Format{SampleRateHz: 48000, Channels: 3, Encoding: PCM16}, "JUNK 28 fmt  40 fact 4 data 42", tagExtensible, 0},
		{Format{SampleRateHz: 48000, Channels: 1, Encoding: PCM24}, "JUNK 28 fmt  40 fact 4 data 21", tagExtensible, 4},
		{Format{SampleRateHz: 48000, Channels: 2, Encoding: Float32, Bext: &Bext{CodingHistory: "odd"}},
			"JUNK 28 fmt  40 bext 605 fact 4 data 56", tagExtensible, 3},
	} {
		path := filepath.Join(t.TempDir(), "h.wav")
		writeFile(t, path, c.f, newPlanes[float32](c.f.Channels, 7), 7)
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, uint32(len(b)-8), le.Uint32(b[4:]), "RIFF size")
		assert.Zero(t, len(b)%2, "even length")
		var chunks []string
		for at := 12; at < len(b); {
			id, size := string(b[at:at+4]), int(le.Uint32(b[at+4:]))
			chunks = append(chunks, id+" "+strconv.Itoa(size))
			switch id {
			case "fmt ":
				assert.Equal(t, c.tag, le.Uint16(b[at+8:]))
				if size == 40 {
					assert.Equal(t, c.mask, le.Uint32(b[at+28:]))
				}
			case "fact":
				assert.EqualValues(t, 7, le.Uint32(b[at+8:]), "frames")
			}
			at += 8 + size + size%2
		}
		assert.Equal(t, c.chunks, strings.Join(chunks, " "))
	}
}

func TestBextRoundTrip(t *testing.T) {
	in := Bext{
		Description:         strings.Repeat("ä", 200), // 400 bytes: 128 letters fit
		Originator:          "foldout",
		OriginatorReference: "0123456789012345678901234567890123456789",
		OriginationDate:     "2025-01-31",
		OriginationTime:     "23:59:59",
		TimeReference:       1 << 40,
		CodingHistory:       "A=PCM,F=96000,W=24,M=stereo\r\n",
	}
	want := in
	want.Description = strings.Repeat("ä", 128)
	want.OriginatorReference = in.OriginatorReference[:32]
	path := filepath.Join(t.TempDir(), "b.wav")
	writeFile(t, path, Format{SampleRateHz: 96000, Channels: 1, Encoding: PCM24, Bext: &in}, newPlanes[float32](1, 1), 1)
	r, err := Open(path)
	require.NoError(t, err)
	assert.Equal(t, &want, r.Info().Bext)
	require.NoError(t, r.Close())
}

// TestWritesRF64BeyondFourGiB writes the last frames of a sparse file just below and just above the limit of 32 bits.
func TestWritesRF64BeyondFourGiB(t *testing.T) {
	if testing.Short() || runtime.GOOS == "windows" {
		t.Skip("makes sparse files of 4 GiB")
	}
	f := Format{SampleRateHz: 96000, Channels: 2, Encoding: PCM24}
	const align = 6
	headBytes := int64(len(header(f, 0, math.MaxUint32)))
	fits := (math.MaxUint32 + 8 - headBytes) / align // frames
	for _, c := range []struct {
		frames    int64
		container string
	}{{fits, "RIFF"}, {fits + 1, "RF64"}, {5 << 30 / align, "RF64"}} {
		path := filepath.Join(t.TempDir(), "long.wav")
		w, err := Create(path, f, false)
		require.NoError(t, err)
		w.frames = c.frames - 2 // as if zeros had been written
		_, err = w.file.Seek(w.frames*align, io.SeekCurrent)
		require.NoError(t, err)
		require.NoError(t, w.Write([][]float32{{0.5, -0.5}, {0.25, -0.25}}))
		require.NoError(t, w.Close())

		r, err := Open(path)
		require.NoError(t, err)
		assert.Equal(t, Info{Path: path, Container: c.container, SampleRateHz: 96000, Channels: 2, BitDepth: 24, ContainerBits: 24, ChannelMask: 3, Frames: c.frames}, r.Info())
		r.at, r.left = r.at+(c.frames-2)*align, 2
		assert.Equal(t, []float64{0.5, 0.25, -0.5, -0.25}, func() []float64 { r.info.Frames = 2; return readAll(t, r, 9) }())
		require.NoError(t, r.Close())
		t.Run("FFmpeg", func(t *testing.T) {
			out := run(t, nil, "ffprobe", "-v", "error", "-show_entries", "stream=duration_ts", "-of", "csv=p=0", path)
			assert.Equal(t, strconv.FormatInt(c.frames, 10), strings.TrimSpace(string(out)))
		})
		require.NoError(t, os.Remove(path))
	}
}

func TestWritingAllocatesNothing(t *testing.T) {
	w, err := Create(filepath.Join(t.TempDir(), "a.wav"), Format{SampleRateHz: 48000, Channels: 2, Encoding: PCM24, Dither: true}, false)
	require.NoError(t, err)
	planes := newPlanes[float32](2, 1000)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		if err := w.Write(planes); err != nil {
			t.Fatal(err)
		}
	}))
	require.NoError(t, w.Abort())
}

// TestBadSamplesEndTheFile checks that a NaN is never written and leaves nothing behind.
func TestBadSamplesEndTheFile(t *testing.T) {
	for e := range written {
		for _, bad := range []float32{float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1))} {
			dir := t.TempDir()
			w, err := Create(filepath.Join(dir, "a.wav"), Format{SampleRateHz: 48000, Channels: 2, Encoding: e}, false)
			require.NoError(t, err)
			err = w.Write([][]float32{{0, 0}, {0, bad}})
			assert.ErrorContains(t, err, "a.wav: channel 2")
			assert.ErrorContains(t, err, "NaN or infinite")
			assert.Equal(t, err, w.Write([][]float32{{0}, {0}}), "stays")
			assert.ErrorIs(t, w.Close(), err)
			assert.Empty(t, names(t, dir))
		}
	}
	w, err := Create(filepath.Join(t.TempDir(), "a.wav"), Format{SampleRateHz: 48000, Channels: 2}, false)
	require.NoError(t, err)
	assert.ErrorContains(t, w.Write([][]float32{{0}}), "1 planes for 2 channels")
	require.NoError(t, w.Abort())
}
