package fold

import (
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/testdata/song"
)

// prepareSong prepares the plain song.
func prepareSong(t testing.TB, opt Options) *Session {
	t.Helper()
	tracks, kin := song.Plain(t)
	opt.Kin = kin
	s, err := Prepare("/songs/Harbour Lights", tracks, opt)
	require.NoError(t, err)
	return s
}

// folds returns which tracks share a pair, by file.
func folds(t testing.TB, s *Session, k int) map[string]int {
	t.Helper()
	g, err := s.Fold(k)
	require.NoError(t, err)
	out := map[string]int{}
	for p, l := range g.Labels {
		out[s.Tracks[s.Live[p]].Profile.File] = l
	}
	return out
}
