package serve

import (
	"context"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// runAgain runs a server at a kept address and returns how to end it.
func runAgain(t *testing.T, file string) (s *Server, end func()) {
	t.Helper()
	s, err := NewAgain(http.NotFoundHandler(), file)
	require.NoError(t, err)
	require.NoError(t, s.keep())
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	return s, func() { stop(); require.NoError(t, <-ended) }
}

func TestTheSameAddressAgain(t *testing.T) {
	file := filepath.Join(t.TempDir(), "deep", "address.json")
	a, end := runAgain(t, file)
	end()
	b, end := runAgain(t, file)
	assert.Equal(t, a.Address(), b.Address())
	if runtime.GOOS != "windows" {
		info, err := os.Stat(file)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "for the person alone")
		info, err = os.Stat(filepath.Dir(file))
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o700), info.Mode().Perm())
	}

	// a second program while the first runs: another port and another token
	c, endC := runAgain(t, file)
	assert.NotEqual(t, b.host(), c.host())
	assert.NotEqual(t, b.token, c.token)
	endC()
	end()
}

// A port that somebody else has is forgotten with its token for good: the page may have shown it to them.
func TestAnAddressThatSomebodyElseHad(t *testing.T) {
	file := filepath.Join(t.TempDir(), "address.json")
	a, end := runAgain(t, file)
	end()
	other, err := net.Listen("tcp", a.host())
	require.NoError(t, err)
	b, end := runAgain(t, file)
	end()
	require.NoError(t, other.Close())
	c, end := runAgain(t, file)
	end()
	assert.NotEqual(t, a.token, b.token)
	assert.NotEqual(t, a.token, c.token)
	assert.Equal(t, b.Address(), c.Address())
}

func TestAnAddressThatMayNotBeUsedAgain(t *testing.T) {
	file := filepath.Join(t.TempDir(), "address.json")
	a, end := runAgain(t, file)
	end()
	good, err := os.ReadFile(file)
	require.NoError(t, err)
	old := `{"port":` + port(t, a) + `,"token":"` + a.token + `","time":"` + time.Now().Add(-25*time.Hour).Format(time.RFC3339) + `"}`
	for what, text := range map[string]string{"old": old, "no JSON": "x", "no token": `{"port":` + port(t, a) + `,"token":"","time":"` + time.Now().Format(time.RFC3339) + `"}`} {
		require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		_, ok := readAddress(file)
		assert.False(t, ok, what)
	}
	require.NoError(t, os.WriteFile(file, good, 0o600))
	_, ok := readAddress(file)
	assert.True(t, ok)
	if runtime.GOOS != "windows" {
		require.NoError(t, os.Chmod(file, 0o644)) // others have seen it
		_, ok = readAddress(file)
		assert.False(t, ok)
	}
}

func port(t *testing.T, s *Server) string {
	t.Helper()
	_, p, err := net.SplitHostPort(s.host())
	require.NoError(t, err)
	return p
}
