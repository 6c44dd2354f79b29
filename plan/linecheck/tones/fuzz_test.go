package tones

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// A plan is refused with a reason, or it holds together.
func FuzzLoadPlan(f *testing.F) {
	for _, s := range []string{`{"schema":1,"sample_rate_hz":48000,"frames":1,"sends":[{},{}]}`, `{"schema":1,"sample_rate_hz":1e9}`, `[]`, "\xef\xbb\xbf{}", `{"schema":1,"sends":[{"output":-1,"file":"../x"}]}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, PlanFile), data, 0o600))
		p, err := LoadPlan(dir)
		if err != nil {
			require.Contains(t, err.Error(), PlanFile)
			return
		}
		require.Equal(t, p.Frames, p.Program().Frames)
		require.Zero(t, len(p.Sends)%2)
	})
}
