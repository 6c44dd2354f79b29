package wavfile

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tool skips the test when a program is missing; in continuous integration (CI=true) a missing one is a failure.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is not installed, and CI=true", name)
		}
		t.Skipf("%s is not installed", name)
	}
	return path
}

// run runs a program and returns what it wrote to standard output.
func run(t *testing.T, stdin []byte, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(tool(t, name), args...)
	cmd.Stdin = bytes.NewReader(stdin)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, "%s %s\n%s", name, strings.Join(args, " "), stderr.String())
	return out
}

// coding is one way to store a sample, under the names the programs give it.
type coding struct {
	name, raw, codec string // raw: FFmpeg's headerless format
	bits             int
	float            bool
	soxType          string // SoX's encoding
}

var codings = []coding{
	{"8 bit", "u8", "pcm_u8", 8, false, "unsigned-integer"},
	{"16 bit", "s16le", "pcm_s16le", 16, false, "signed-integer"},
	{"24 bit", "s24le", "pcm_s24le", 24, false, "signed-integer"},
	{"32 bit", "s32le", "pcm_s32le", 32, false, "signed-integer"},
	{"float 32", "f32le", "pcm_f32le", 32, true, "floating-point"},
	{"float 64", "f64le", "pcm_f64le", 64, true, "floating-point"},
}

// knownSamples are n samples that the coding holds exactly, extremes first, and the headerless bytes that say them.
// Floats lie on a grid of 2^-23 within ±1, which every program keeps exactly.
func knownSamples(c coding, n int) (values []float64, raw []byte) {
	bits := min(c.bits, 32)
	if c.float {
		bits = 24
	}
	full := int64(1) << (bits - 1)
	ints := []int64{-full, full - 1, 0, 1, -1}
	g := rand.New(rand.NewPCG(1, uint64(bits)))
	for len(ints) < n {
		ints = append(ints, g.Int64N(2*full)-full)
	}
	for _, v := range ints[:n] {
		x := float64(v) / float64(full)
		values = append(values, x)
		switch {
		case c.float && c.bits == 32:
			raw = le.AppendUint32(raw, math.Float32bits(float32(x)))
		case c.float:
			raw = le.AppendUint64(raw, math.Float64bits(x))
		case c.bits == 8:
			raw = append(raw, byte(v+128))
		default:
			raw = append(raw, le.AppendUint64(nil, uint64(v))[:c.bits/8]...)
		}
	}
	return values, raw
}

// requireSamples is require.Equal for long slices: it names the first difference only.
func requireSamples(t *testing.T, want, got []float64) {
	t.Helper()
	require.Equal(t, len(want), len(got), "number of samples")
	for i := range want {
		if want[i] != got[i] {
			t.Fatalf("sample %d reads %v, not %v", i, got[i], want[i])
		}
	}
}

// checkFile compares a file with the samples it was made from, in both precisions, and closes it.
func checkFile(t *testing.T, path string, want []float64, channels, rateHz int, c coding) *Reader {
	t.Helper()
	r, err := Open(path)
	require.NoError(t, err)
	info := r.Info()
	assert.Equal(t, []any{channels, rateHz, c.bits, c.bits, c.float}, []any{info.Channels, info.SampleRateHz, info.BitDepth, info.ContainerBits, info.Float})
	requireSamples(t, want, readAll(t, r, 77))
	require.NoError(t, r.Close())

	r32, err := Open(path)
	require.NoError(t, err)
	planes := newPlanes[float32](channels, len(want)/channels)
	n, err := r32.Read(planes)
	require.NoError(t, err)
	require.Equal(t, len(want)/channels, n)
	for i, v := range want {
		if got := planes[i%channels][i/channels]; got != float32(v) {
			t.Fatalf("sample %d reads %v, not %v", i, got, float32(v))
		}
	}
	require.NoError(t, r32.Close())
	return r
}

// TestFilesWrittenByFFmpeg reads every coding back from files FFmpeg made of known samples. All are made in one run, since
// starting the program takes longest. An output that cannot seek gets the header a pipe would. (Checked with 5.1.9.)
func TestFilesWrittenByFFmpeg(t *testing.T) {
	type made struct {
		name, path       string
		c                coding
		want             []float64
		channels, rateHz int
		container        string
		pipe             bool
	}
	dir := t.TempDir()
	var files []made
	inputs, outputs := []string{"-v", "error"}, []string(nil)
	for _, c := range codings {
		for _, m := range []made{
			{channels: 1, rateHz: 44100, container: "RIFF"},
			{channels: 2, rateHz: 48000, container: "RIFF"},
			{channels: 6, rateHz: 192000, container: "RIFF"},
			{channels: 2, rateHz: 384000, container: "RF64"},
			{channels: 1, rateHz: 8000, container: "RIFF", pipe: true},
			{channels: 2, rateHz: 96000, container: "RF64", pipe: true},
		} {
			m.c = c
			m.name = fmt.Sprintf("%s %s %dch pipe=%v", c.name, m.container, m.channels, m.pipe)
			index := strconv.Itoa(len(files))
			m.path = filepath.Join(dir, index+".wav")
			want, raw := knownSamples(c, 1001*m.channels)
			m.want = want
			rawPath := filepath.Join(dir, index+".raw")
			require.NoError(t, os.WriteFile(rawPath, raw, 0o666))
			inputs = append(inputs, "-f", c.raw, "-ar", strconv.Itoa(m.rateHz), "-ac", strconv.Itoa(m.channels), "-i", rawPath)
			outputs = append(outputs, "-map", index, "-c:a", c.codec, "-write_bext", "1",
				"-metadata", "description=Kick in", "-metadata", "time_reference=172800000")
			if m.container == "RF64" {
				outputs = append(outputs, "-rf64", "always")
			}
			if m.pipe {
				outputs = append(outputs, "-seekable", "0")
			}
			outputs = append(outputs, m.path)
			files = append(files, m)
		}
	}
	run(t, nil, "ffmpeg", append(inputs, outputs...)...)
	for _, m := range files {
		t.Run(m.name, func(t *testing.T) {
			info := checkFile(t, m.path, m.want, m.channels, m.rateHz, m.c).Info()
			assert.Equal(t, m.container, info.Container)
			require.NotNil(t, info.Bext)
			assert.Equal(t, "Kick in", info.Bext.Description)
			assert.Equal(t, int64(172800000), info.Bext.TimeReference)
			assert.Equal(t, m.pipe, len(info.Notes) > 0, "%q", info.Notes)
		})
	}
}

// TestFilesWrittenBySoX does the same with SoX, also through a pipe. (Checked with 14.4.2.)
func TestFilesWrittenBySoX(t *testing.T) {
	tool(t, "sox")
	for _, c := range codings {
		for _, pipe := range []bool{false, true} {
			for _, channels := range []int{1, 2, 64} {
				name := c.name + " " + strconv.Itoa(channels) + "ch"
				if pipe {
					name += " pipe"
				}
				t.Run(name, func(t *testing.T) {
					want, raw := knownSamples(c, 501*channels)
					path := filepath.Join(t.TempDir(), "s.wav")
					args := []string{"-D", "-t", "raw", "-e", c.soxType, "-b", strconv.Itoa(c.bits), "-r", "48000", "-c", strconv.Itoa(channels), "-"}
					if pipe {
						require.NoError(t, os.WriteFile(path, run(t, raw, "sox", append(args, "-t", "wav", "-")...), 0o666))
					} else {
						run(t, raw, "sox", append(args, path)...)
					}
					info := checkFile(t, path, want, channels, 48000, c).Info()
					assert.Equal(t, pipe, len(info.Notes) > 0, "%q", info.Notes)
				})
			}
		}
	}
}

// TestRefusesWhatProgramsCompress lets the programs write what people hand in by mistake.
func TestRefusesWhatProgramsCompress(t *testing.T) {
	type wrong struct {
		found, file string
		args        []string
	}
	refused := func(t *testing.T, dir string, files []wrong) {
		for _, f := range files {
			_, err := Open(filepath.Join(dir, f.file))
			var refusal *FormatError
			require.ErrorAs(t, err, &refusal, f.file)
			assert.Equal(t, f.found, refusal.Found, f.file)
		}
	}
	raw := make([]byte, 2*8000)
	t.Run("FFmpeg", func(t *testing.T) {
		files := []wrong{
			{"Sun AU", "a.au", nil},
			{"CAF", "a.caf", nil},
			{"AAC", "a.aac", nil},
			{"MP4 or M4A (AAC or ALAC)", "a.m4a", nil},
			{"Wave64", "a.w64", nil},
			{"A-law in a WAV file", "alaw.wav", []string{"-c:a", "pcm_alaw"}},
			{"mu-law in a WAV file", "mulaw.wav", []string{"-c:a", "pcm_mulaw"}},
			{"Microsoft ADPCM in a WAV file", "ms.wav", []string{"-c:a", "adpcm_ms"}},
			{"IMA ADPCM in a WAV file", "ima.wav", []string{"-c:a", "adpcm_ima_wav"}},
		}
		dir := t.TempDir()
		args := []string{"-v", "error", "-f", "s16le", "-ar", "8000", "-ac", "1", "-i", "-"}
		for _, f := range files {
			args = append(append(args, f.args...), filepath.Join(dir, f.file))
		}
		run(t, raw, "ffmpeg", args...)
		refused(t, dir, files)
	})
	t.Run("SoX", func(t *testing.T) {
		files := []wrong{
			{"A-law in a WAV file", "alaw.wav", []string{"-e", "a-law"}},
			{"GSM 6.10 in a WAV file", "gsm.wav", []string{"-e", "gsm-full-rate"}},
			{"RIFX, WAV in big-endian order", "big.wav", []string{"-B"}},
		}
		dir := t.TempDir()
		for _, f := range files {
			args := []string{"-t", "raw", "-e", "signed-integer", "-b", "16", "-r", "8000", "-c", "1", "-"}
			run(t, raw, "sox", append(append(args, f.args...), filepath.Join(dir, f.file))...)
		}
		refused(t, dir, files)
	})
}
