package levels

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The loudness of a pair is that of its sum, as FFmpeg sums and measures it (amix without normalising, ebur128), not the
// sum of its tracks' powers: two tracks that carry one tone add by 6 dB, not by 3.
func TestTheLoudnessOfAPairIsThatOfItsSumAsFFmpegHasIt(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		if os.Getenv("CI") == "true" {
			require.NoError(t, err)
		}
		t.Skip("ffmpeg is not installed")
	}
	dir := t.TempDir()
	one, hiss := tone(440, -20, 6), noise(3, 0.1, 6)
	put(t, dir, "a.wav", one)
	put(t, dir, "b.wav", one)
	put(t, dir, "c.wav", hiss)
	put(t, dir, "d.wav", times(hiss, 0.4), times(hiss, -0.2))
	put(t, dir, "e.wav", tone(90, -12, 6))
	put(t, dir, "f.wav", noise(4, 0.2, 6))
	l := measure(t, sheetOf(dir, []string{"a.wav", "b.wav"}, []string{"c.wav", "d.wav"}, []string{"e.wav", "f.wav"}), nil)
	const centre = "volume=-3.0103dB,pan=stereo|c0=c0|c1=c0" // mono to both sides at -3 dB, the pan law of the plain rig
	for n, c := range []struct{ first, second, how string }{
		{"a.wav", "b.wav", centre},
		{"c.wav", "d.wav", "anull"},
		{"e.wav", "f.wav", centre},
	} {
		graph := "[0:a]" + centre + "[x];[1:a]" + c.how + "[y];[x][y]amix=inputs=2:normalize=0,ebur128"
		out, err := exec.Command(ffmpeg, "-hide_banner", "-nostats", "-i", filepath.Join(dir, c.first), "-i", filepath.Join(dir, c.second), "-filter_complex", graph, "-f", "null", "-").CombinedOutput()
		require.NoError(t, err, string(out))
		found := regexp.MustCompile(`(?s)Summary:.*?I:\s+(-?[\d.]+) LUFS`).FindAllSubmatch(out, -1)
		require.NotEmpty(t, found, string(out))
		want, err := strconv.ParseFloat(string(found[len(found)-1][1]), 64)
		require.NoError(t, err)
		assert.InDelta(t, want, float64(l.Pairs[n].IntegratedLUFS), 0.06, "%s and %s; FFmpeg prints tenths", c.first, c.second)
	}
}
