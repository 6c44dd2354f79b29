package stems

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
)

// tool skips a test where an outside program is missing, except in continuous integration.
func tool(t testing.TB, name string) string {
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is missing", name)
		}
		t.Skipf("%s is not installed: no reference to compare with", name)
	}
	return path
}

// Two other programs sum the same tracks: sox mixes 24-bit files in 32-bit integers, which is exact here; ffmpeg's amix
// sums in float32. A mono track is centred at -6.02 dB there by the factor given.
func TestSumsAgreeWithOtherPrograms(t *testing.T) {
	dir := t.TempDir()
	const frames = 2*rate + 311
	put(t, dir,
		track{file: "a.wav", planes: noise(1, 2, frames, 0.2), encoding: wavfile.PCM24},
		track{file: "b.wav", planes: noise(2, 2, frames-5000, 0.2), encoding: wavfile.PCM24},
		track{file: "c.wav", planes: noise(3, 1, frames, 0.2), encoding: wavfile.PCM24})
	s := open(t, sheetOf(dir, []string{"a.wav", "b.wav", "c.wav"}), Options{PanGain: 0.5})
	w := write(t, s, WriteOptions{Float: true})
	ours, _ := load(t, w.Stems[0].Path)
	a, b, c := filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav"), filepath.Join(dir, "c.wav")
	for _, other := range []struct {
		name string
		args []string
		most float64
	}{
		{"sox", []string{"-D", "-m", "-v", "1", a, "-v", "1", b, "-v", "1", "|sox -D " + c + " -b 32 -p remix 1v0.5 1v0.5", "-b", "32"}, 0},
		{"ffmpeg", []string{"-loglevel", "error", "-i", a, "-i", b, "-i", c, "-filter_complex",
			"[2:a]pan=stereo|c0=0.5*c0|c1=0.5*c0[m];[0:a][1:a][m]amix=inputs=3:normalize=0:duration=longest", "-c:a", "pcm_f32le"}, 0x1p-23},
	} {
		t.Run(other.name, func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "mix.wav")
			text, err := exec.CommandContext(t.Context(), tool(t, other.name), append(other.args, out)...).CombinedOutput()
			require.NoError(t, err, string(text))
			theirs, info := load(t, out)
			require.EqualValues(t, frames, info.Frames)
			worst := 0.0
			for side := range ours {
				for i, v := range ours[side] {
					worst = max(worst, math.Abs(v-theirs[side][i]))
				}
			}
			assert.LessOrEqual(t, worst, other.most)
			null, err := s.Against(t.Context(), w, out, nil)
			require.NoError(t, err)
			assert.True(t, null.Nulls)
		})
	}
}

// sox writes and reads what we write.
func TestStemsOpenInOtherPrograms(t *testing.T) {
	sox := tool(t, "sox")
	w := write(t, song(t, 0), WriteOptions{})
	for _, stem := range w.Stems {
		text, err := exec.CommandContext(t.Context(), sox, stem.Path, "-n", "stat").CombinedOutput()
		require.NoError(t, err, string(text))
		assert.NotContains(t, string(text), "WARN")
	}
}
