package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/plan/fold"
	"foldout/testdata/song"
)

func TestSweepPictureIsWellFormed(t *testing.T) {
	tracks, kin := song.Plain(t)
	s, err := fold.Prepare("/songs/Harbour Lights", tracks, fold.Options{Pairs: 8, Seed: 1, Kin: kin})
	require.NoError(t, err)
	for _, r := range [][2]int{{2, 6}, {4, 4}} {
		w, err := s.Sweep(r[0], r[1])
		require.NoError(t, err)
		var out bytes.Buffer
		require.NoError(t, DrawSweep(&out, w))
		d := xml.NewDecoder(&out)
		for {
			_, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
		}
	}
}
