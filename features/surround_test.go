package features

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// Loudness of surround files whose header says which channel is which, against ffmpeg's ebur128 (its own reading of the
// channel mask). Each channel has its own level, so a wrong weight shows.
func TestSurroundLoudnessAgainstFFmpeg(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("ffmpeg is not installed, and CI=true")
		}
		t.Skip("ffmpeg is not installed")
	}
	for layout, expression := range map[string]string{
		"stereo":    "0.05*sin(1500*t)|0.1*sin(2000*t)",
		"2.1":       "0.05*sin(1500*t)|0.1*sin(2000*t)|0.5*sin(3000*t)",
		"5.0(side)": "0.05*sin(1500*t)|0.1*sin(2000*t)|0.1*sin(3000*t)|0.2*sin(4000*t)|0.1*sin(5000*t)",
		"5.1":       "0.05*sin(1500*t)|0.1*sin(2000*t)|0.1*sin(3000*t)|0.9*sin(2500*t)|0.2*sin(4000*t)|0.1*sin(5000*t)",
		"5.1(side)": "0.05*sin(1500*t)|0.1*sin(2000*t)|0.1*sin(3000*t)|0.9*sin(2500*t)|0.2*sin(4000*t)|0.1*sin(5000*t)",
	} {
		path := filepath.Join(t.TempDir(), "surround.wav")
		out, err := exec.Command(ffmpeg, "-v", "error", "-f", "lavfi", "-i", "aevalsrc="+expression+":c="+layout+":s=48000:d=4", "-c:a", "pcm_f32le", path).CombinedOutput()
		require.NoError(t, err, string(out))
		out, err = exec.Command(ffmpeg, "-hide_banner", "-nostats", "-i", path, "-af", "ebur128", "-f", "null", "-").CombinedOutput()
		require.NoError(t, err, string(out))
		found := regexp.MustCompile(`(?s)Summary:.*?I:\s+(-?[0-9.]+) LUFS`).FindSubmatch(out)
		require.NotNil(t, found, string(out))
		want, err := strconv.ParseFloat(string(found[1]), 64)
		require.NoError(t, err)
		a, err := measure(path, Options{})
		require.NoError(t, err)
		near(t, want, a.Profile.IntegratedLUFS, 0.06, layout) // ffmpeg prints tenths
	}
}
