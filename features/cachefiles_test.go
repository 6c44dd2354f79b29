//go:build unix

package features

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What lies where an entry should be and is no plain file of its size is never opened: a pipe would wait for ever, a device
// or a file of a terabyte would never end.
func TestWhatIsNoEntryIsNotOpened(t *testing.T) {
	c, path := testCache(t), settledFile(t, "a.wav", noise(9000, 1, 0.5))
	_, err := measure(path, Options{Cache: c, WithSketch: true})
	require.NoError(t, err)
	e := c.entry(path)
	for what, put := range map[string]func(string) error{
		"a pipe":                func(name string) error { return syscall.Mkfifo(name, 0o600) },
		"a link to a device":    func(name string) error { return os.Symlink("/dev/zero", name) },
		"a folder":              func(name string) error { return os.Mkdir(name, 0o700) },
		"a file of a terabyte":  func(name string) error { return errorOf(os.Create(name)) },
		"a link to where it is": func(name string) error { return os.Symlink(filepath.Base(name), name) },
	} {
		for _, suffix := range []string{profileSuffix, sketchSuffix, wavesSuffix} {
			name := e.file(suffix)
			whole := must(os.ReadFile(name))
			require.NoError(t, os.Remove(name))
			require.NoError(t, put(name), what)
			if what == "a file of a terabyte" {
				require.NoError(t, os.Truncate(name, 1<<40))
			}
			_, ok := e.load(true)
			assert.False(t, ok, "%s as %s", what, suffix)
			require.NoError(t, os.Remove(name))
			require.NoError(t, os.WriteFile(name, whole, 0o600))
			_, ok = e.load(true)
			assert.True(t, ok)
		}
	}
}

func errorOf(f *os.File, err error) error {
	if err != nil {
		return err
	}
	return f.Close()
}
