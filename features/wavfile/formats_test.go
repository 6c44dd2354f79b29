package wavfile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Files of the other formats, made by FFmpeg, flac and SoX of known samples, read bit by bit as they were. (Checked with
// FFmpeg 5.1.9, flac 1.4.2, SoX 14.4.2.)
func TestOtherFormatsBitByBit(t *testing.T) {
	type format struct {
		name, ext string
		source    int // index into codings
		args      []string
		rates     []int
		container string
	}
	all := []int{8000, 44100, 48000, 96000, 192000}
	for _, f := range []format{
		{"AIFF 8", "aif", 0, []string{"-c:a", "pcm_s8"}, all, "AIFF"},
		{"AIFF 16", "aiff", 1, []string{"-c:a", "pcm_s16be"}, all, "AIFF"},
		{"AIFF 24", "aiff", 2, []string{"-c:a", "pcm_s24be"}, all, "AIFF"},
		{"AIFF 32", "aiff", 3, []string{"-c:a", "pcm_s32be"}, all, "AIFF"},
		{"AIFC sowt", "aifc", 1, []string{"-c:a", "pcm_s16le", "-f", "aiff"}, all, "AIFC"},
		{"AIFC fl32", "aifc", 4, []string{"-c:a", "pcm_f32be", "-f", "aiff"}, all, "AIFC"},
		{"AIFC fl64", "aifc", 5, []string{"-c:a", "pcm_f64be", "-f", "aiff"}, all, "AIFC"},
		{"FLAC 16", "flac", 1, []string{"-c:a", "flac"}, all, "FLAC"},
		{"FLAC 24", "flac", 2, []string{"-c:a", "flac", "-strict", "-2", "-sample_fmt", "s32", "-bits_per_raw_sample", "24"}, []int{44100, 96000}, "FLAC"},
	} {
		t.Run(f.name, func(t *testing.T) {
			dir := t.TempDir()
			c := codings[f.source]
			var args []string
			var outputs []string
			type made struct {
				path           string
				want           []float64
				rate, channels int
			}
			var files []made
			for i, rate := range f.rates {
				channels := []int{1, 2, 6, 2, 8}[i]
				want, raw := knownSamples(c, 9001*channels)
				rawPath := filepath.Join(dir, strconv.Itoa(i)+".raw")
				require.NoError(t, os.WriteFile(rawPath, raw, 0o666))
				args = append(args, "-f", c.raw, "-ar", strconv.Itoa(rate), "-ac", strconv.Itoa(channels), "-i", rawPath)
				path := filepath.Join(dir, fmt.Sprintf("%d.%s", i, f.ext))
				outputs = append(append(append(outputs, "-map", strconv.Itoa(i)), f.args...), path)
				files = append(files, made{path, want, rate, channels})
			}
			run(t, nil, "ffmpeg", append(append([]string{"-v", "error"}, args...), outputs...)...)
			for _, m := range files {
				r, err := Open(m.path)
				require.NoError(t, err)
				info := r.Info()
				assert.Equal(t, []any{m.channels, m.rate, f.container, c.float}, []any{info.Channels, info.SampleRateHz, info.Container, info.Float}, m.path)
				assert.Empty(t, info.Notes)
				assert.Equal(t, c.bits, info.BitDepth)
				requireSamples(t, m.want, readAll(t, r, 777))
				require.NoError(t, r.SeekFrame(4500))
				requireSamples(t, m.want[4500*m.channels:5500*m.channels], readSome(t, r, 1000))
				require.NoError(t, r.SeekFrame(10))
				requireSamples(t, m.want[10*m.channels:1010*m.channels], readSome(t, r, 1000))
				require.NoError(t, r.Close())
			}
		})
	}
}

// readSome reads one block.
func readSome(t *testing.T, r *Reader, frames int) (all []float64) {
	planes := newPlanes[float64](r.Info().Channels, frames)
	n, err := r.ReadFloat64(planes)
	require.NoError(t, err)
	require.Equal(t, frames, n)
	for i := range n {
		for _, p := range planes {
			all = append(all, p[i])
		}
	}
	return all
}

// flac's own program writes depths that FFmpeg does not.
func TestFLACOfEveryDepth(t *testing.T) {
	tool(t, "flac")
	for _, bits := range []int{8, 12, 16, 20, 24, 32} {
		for _, channels := range []int{1, 2} {
			dir := t.TempDir()
			container := (bits + 7) / 8
			g := rand.New(rand.NewPCG(uint64(bits), uint64(channels)))
			full := int64(1) << (bits - 1)
			var want []float64
			var raw []byte
			for i := range 20000 * channels {
				v := g.Int64N(2*full) - full
				if i > 5000 { // something that can be predicted
					v = int64(float64(full-1) * 0.7 * math.Sin(float64(i/channels)/float64(20+i%channels)))
				}
				want = append(want, float64(v)/float64(full))
				raw = append(raw, le.AppendUint64(nil, uint64(v<<(8*container-bits)))[:container]...)
			}
			if container == 1 {
				for i := range raw {
					raw[i] ^= 0x80
				}
			}
			wav := filepath.Join(dir, "a.wav")
			require.NoError(t, os.WriteFile(wav, riffFile("RIFF", extensibleFmt(tagPCM, channels, 48000, 8*container, bits), dataChunk(raw)), 0o666))
			path := filepath.Join(dir, "a.flac")
			run(t, nil, "flac", "-s", "--best", "-o", path, wav)
			r, err := Open(path)
			if bits == 32 {
				assert.ErrorContains(t, err, "found a FLAC file of 32 bits a sample (24 at most); "+advice)
				continue
			}
			require.NoError(t, err)
			assert.Equal(t, []int{bits, channels}, []int{r.Info().BitDepth, r.Info().Channels})
			got := readAll(t, r, 4096)
			require.NoError(t, r.Close())
			requireSamples(t, want, got)
		}
	}
}

// Files cut short, or written to a pipe, are read as far as they go, with a note; damage in the middle is an error that
// says where.
func TestFLACDamaged(t *testing.T) {
	tool(t, "flac")
	dir := t.TempDir()
	wav, path := filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.flac")
	g := rand.New(rand.NewPCG(3, 4))
	var raw []byte
	for range 100000 {
		raw = le.AppendUint16(raw, uint16(g.IntN(2000)))
	}
	require.NoError(t, os.WriteFile(wav, riffFile("RIFF", mono16, dataChunk(raw)), 0o666))
	run(t, nil, "flac", "-s", "-o", path, wav)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	open := func(content []byte) (*Reader, error) {
		return newReader("a.flac", bytes.NewReader(content), int64(len(content)))
	}
	for _, cut := range []int{1, 2, 500, len(whole) / 2, len(whole) - 20000} {
		r, err := open(whole[:len(whole)-cut])
		require.NoError(t, err, "cut by %d", cut)
		require.Len(t, r.Info().Notes, 1)
		assert.Contains(t, r.Info().Notes[0], "the header promises 100000 frames, ")
		got := readAll(t, r, 999)
		assert.Equal(t, r.Info().Frames, int64(len(got)))
		assert.Less(t, len(got), 100000)
		for i, v := range got {
			require.Equal(t, float64(int16(le.Uint16(raw[2*i:])))/32768, v)
		}
	}
	streamed := bytes.Clone(whole) // total samples: 36 bits from byte 21 of the file
	streamed[21] &^= 0x0F
	copy(streamed[22:26], []byte{0, 0, 0, 0})
	r, err := open(streamed)
	require.NoError(t, err)
	assert.Equal(t, int64(100000), r.Info().Frames)
	assert.Contains(t, r.Info().Notes[0], "leaves the length of the audio open")

	damaged := bytes.Clone(whole)
	damaged[len(damaged)/2] ^= 0xFF
	r, err = open(damaged)
	require.NoError(t, err)
	planes := newPlanes[float32](1, 4096)
	for err == nil {
		_, err = r.Read(planes)
	}
	assert.False(t, errors.Is(err, io.EOF))
	assert.ErrorContains(t, err, "damaged FLAC after sample ")

	for name, c := range map[string]struct {
		content []byte
		found   string
	}{
		"only the marker": {[]byte("fLaC"), "a damaged FLAC file"},
		"header alone":    {whole[:42], "a damaged FLAC file"},
		"no frames":       {whole[:200], "a damaged FLAC file"},
	} {
		_, err := open(c.content)
		var refusal *FormatError
		if err == nil {
			continue // what is left may be a file without samples
		}
		require.ErrorAs(t, err, &refusal, name)
		assert.Contains(t, refusal.Found, c.found, name)
	}
}

// aiffChunk is a chunk of a FORM file.
func aiffChunk(id string, payload []byte) []byte {
	out := binary.BigEndian.AppendUint32([]byte(id), uint32(len(payload)))
	out = append(out, payload...)
	if len(payload)%2 == 1 {
		out = append(out, 0)
	}
	return out
}

func aiffFile(kind string, chunks ...[]byte) []byte {
	body := append([]byte(kind), bytes.Join(chunks, nil)...)
	return append(binary.BigEndian.AppendUint32([]byte("FORM"), uint32(len(body))), body...)
}

// comm is a format chunk; codec "" for AIFF.
func comm(channels, frames, bits int, rateHz float64, codec string) []byte {
	be := binary.BigEndian
	p := be.AppendUint16(nil, uint16(channels))
	p = be.AppendUint32(p, uint32(frames))
	p = be.AppendUint16(p, uint16(bits))
	exponent := 16383 + 63
	mantissa := uint64(0)
	if rateHz > 0 {
		fraction, e := math.Frexp(rateHz)
		mantissa, exponent = uint64(fraction*(1<<53))<<11, 16383+e-1
	}
	p = be.AppendUint16(p, uint16(exponent))
	p = be.AppendUint64(p, mantissa)
	if codec != "" {
		p = append(append(p, codec...), 0, 0)
	}
	return aiffChunk("COMM", p)
}

func ssnd(data []byte) []byte { return aiffChunk("SSND", append(make([]byte, 8), data...)) }

// What AIFF files look like that were not finished, and what is odd but read. Values worked out by hand.
func TestAIFFTolerated(t *testing.T) {
	data := []byte{0x40, 0, 0xC0, 0, 0x20, 0} // 0.5, -0.5, 0.25
	long := func(chunk []byte, size uint32) []byte {
		binary.BigEndian.PutUint32(chunk[4:], size)
		return chunk
	}
	name := aiffChunk("NAME", []byte("kick drum"))
	for _, c := range []struct {
		name string
		file []byte
		want []float64
		note string
	}{
		{"plain", aiffFile("AIFF", comm(1, 3, 16, 48000, ""), ssnd(data)), []float64{0.5, -0.5, 0.25}, ""},
		{"chunks around", aiffFile("AIFF", name, comm(1, 3, 16, 48000, ""), name, ssnd(data), name), []float64{0.5, -0.5, 0.25}, ""},
		{"sound before format", aiffFile("AIFF", ssnd(data), comm(1, 3, 16, 48000, "")), []float64{0.5, -0.5, 0.25}, ""},
		{"offset", aiffFile("AIFF", comm(1, 2, 16, 48000, ""), aiffChunk("SSND", append([]byte{0, 0, 0, 2, 0, 0, 0, 0}, data...))), []float64{-0.5, 0.25}, ""},
		{"sowt", aiffFile("AIFC", comm(1, 3, 16, 48000, "sowt"), ssnd([]byte{0, 0x40, 0, 0xC0, 0, 0x20})), []float64{0.5, -0.5, 0.25}, ""},
		{"twos", aiffFile("AIFC", comm(1, 3, 16, 48000, "twos"), ssnd(data)), []float64{0.5, -0.5, 0.25}, ""},
		{"NONE", aiffFile("AIFC", comm(1, 3, 16, 48000, "NONE"), ssnd(data)), []float64{0.5, -0.5, 0.25}, ""},
		{"raw", aiffFile("AIFC", comm(1, 2, 8, 48000, "raw "), ssnd([]byte{0xC0, 0x40})), []float64{0.5, -0.5}, ""},
		{"12 bits, left-justified", aiffFile("AIFF", comm(1, 3, 12, 48000, ""), ssnd(data)), []float64{0.5, -0.5, 0.25}, ""},
		{"fl32", aiffFile("AIFC", comm(1, 1, 32, 48000, "fl32"), ssnd([]byte{0x3F, 0, 0, 0})), []float64{0.5}, ""},
		{"FL32, bits said wrongly", aiffFile("AIFC", comm(1, 1, 16, 48000, "FL32"), ssnd([]byte{0x3F, 0, 0, 0})), []float64{0.5}, ""},
		{"sizes open", aiffFile("AIFF", comm(1, 0, 16, 48000, ""), long(ssnd(data), 0)), []float64{0.5, -0.5, 0.25}, "promises 0 bytes of audio, the file holds 6"},
		{"cut short", aiffFile("AIFF", comm(1, 100, 16, 48000, ""), long(ssnd(data), 208)), []float64{0.5, -0.5, 0.25}, "promises 200 bytes of audio, the file holds 6"},
		{"frames 0", aiffFile("AIFF", comm(1, 0, 16, 48000, ""), ssnd(data)), []float64{0.5, -0.5, 0.25}, "gives no audio length"},
		{"more frames than bytes", aiffFile("AIFF", comm(1, 9, 16, 48000, ""), ssnd(data)), []float64{0.5, -0.5, 0.25}, "promises 9 frames, the file holds 3"},
		{"fewer frames than bytes", aiffFile("AIFF", comm(1, 2, 16, 48000, ""), ssnd(data)), []float64{0.5, -0.5}, ""},
		{"no frames", aiffFile("AIFF", comm(1, 0, 16, 48000, ""), ssnd(nil)), nil, ""},
		{"rubbish behind", append(aiffFile("AIFF", comm(1, 3, 16, 48000, ""), ssnd(data)), make([]byte, 20)...), []float64{0.5, -0.5, 0.25}, "not chunks"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := newReader("a.aif", bytes.NewReader(c.file), int64(len(c.file)))
			require.NoError(t, err)
			assert.Equal(t, 48000, r.Info().SampleRateHz)
			requireSamples(t, c.want, readAll(t, r, 2))
			if c.note == "" {
				assert.Empty(t, r.Info().Notes)
			} else {
				require.NotEmpty(t, r.Info().Notes)
				assert.Contains(t, r.Info().Notes[0], c.note)
			}
		})
	}
}

func TestAIFFRefused(t *testing.T) {
	data := ssnd(make([]byte, 8))
	for _, c := range []struct {
		name  string
		file  []byte
		found string
	}{
		{"nothing but a head", aiffFile("AIFF"), "an AIFF file without a format chunk (COMM)"},
		{"no sound", aiffFile("AIFF", comm(1, 3, 16, 48000, "")), "an AIFF file with no sound chunk (SSND)"},
		{"zero channels", aiffFile("AIFF", comm(0, 3, 16, 48000, ""), data), "an AIFF file with zero channels"},
		{"65 channels", aiffFile("AIFF", comm(65, 3, 16, 48000, ""), data), "an AIFF file with 65 channels (64 at most)"},
		{"zero bits", aiffFile("AIFF", comm(1, 3, 0, 48000, ""), data), "an AIFF file with zero bits a sample"},
		{"64 bits PCM", aiffFile("AIFF", comm(1, 3, 64, 48000, ""), data), "an AIFF file of 64 bits a sample (32 at most)"},
		{"rate 0", aiffFile("AIFF", comm(1, 3, 16, 0, ""), data), "an AIFF file with a sample rate of zero"},
		{"rate 4000", aiffFile("AIFF", comm(1, 3, 16, 4000, ""), data), "a sample rate of 4000 Hz (8000 to 384000 Hz can be read)"},
		{"rate 1e9", aiffFile("AIFF", comm(1, 3, 16, 1e9, ""), data), "a sample rate of 1000000000 Hz (8000 to 384000 Hz can be read)"},
		{"COMM cut short", aiffFile("AIFF", aiffChunk("COMM", make([]byte, 10)), data), "a damaged AIFF file (format chunk of 10 bytes)"},
		{"AIFC without codec", aiffFile("AIFC", comm(1, 3, 16, 48000, ""), data), "a damaged AIFF file (format chunk of 18 bytes)"},
		{"ima4", aiffFile("AIFC", comm(1, 3, 16, 48000, "ima4"), data), "IMA 4:1 in an AIFF-C file"},
		{"ulaw", aiffFile("AIFC", comm(1, 3, 16, 48000, "ulaw"), data), "mu-law in an AIFF-C file"},
		{"alaw", aiffFile("AIFC", comm(1, 3, 16, 48000, "alaw"), data), "A-law in an AIFF-C file"},
		{"MAC3", aiffFile("AIFC", comm(1, 3, 16, 48000, "MAC3"), data), "MACE 3:1 in an AIFF-C file"},
		{"unknown codec", aiffFile("AIFC", comm(1, 3, 16, 48000, "zzzz"), data), `an unknown codec ("zzzz") in an AIFF-C file`},
		{"zeros for chunks", aiffFile("AIFF", make([]byte, 40)), "a damaged AIFF file (no chunk where one should be, at byte 12)"},
		{"offset beyond", aiffFile("AIFF", comm(1, 3, 16, 48000, ""), aiffChunk("SSND", []byte{0, 0, 1, 0, 0, 0, 0, 0, 1, 2})), "its sound begins 254 bytes after the end"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := newReader("a.aif", bytes.NewReader(c.file), int64(len(c.file)))
			var refusal *FormatError
			require.ErrorAs(t, err, &refusal)
			assert.Contains(t, refusal.Found, c.found)
			assert.Contains(t, err.Error(), "a.aif: found ")
			assert.Contains(t, err.Error(), "; "+advice)
		})
	}
}
