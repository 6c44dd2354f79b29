package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDrawnIsWhatThePageDraws(t *testing.T) {
	s := invented(24, 4)
	page := write(t, Page{Sheet: s})
	d := Draw(s)
	require.Len(t, d.Lanes, len(s.Pairs))
	for n, l := range d.Lanes {
		require.Len(t, l.Slips, len(s.Pairs[n].Tracks))
		for k, slip := range l.Slips {
			assert.Equal(t, s.Pairs[n].Tracks[k].File, slip.File)
			assert.Contains(t, page, `d="`+slip.Ridge+`"`)
			ridge, _ := DrawTrack(&s.Pairs[n].Tracks[k].Measured)
			assert.Equal(t, slip.Ridge, ridge)
		}
		if l.Ridge != "" {
			assert.Contains(t, page, `d="`+l.Ridge+`"`)
		}
	}
	part, err := Page{Sheet: s}.Part(PartMap)
	require.NoError(t, err)
	assert.Contains(t, page, strings.TrimSpace(strings.ReplaceAll(part, " data-style=", " style=")))
	all := wholePage(t, 24, 4)
	all.Check = judged()
	for _, name := range []string{PartLevels, PartPatch, PartMap, PartSweep, PartGlossary, PartJudgement} {
		part, err := all.Part(name)
		require.NoError(t, err, name)
		assert.Contains(t, part, "<section", name)
	}
	_, err = Page{Sheet: s}.Part(PartLevels)
	assert.ErrorIs(t, err, ErrEmpty)
	assert.NotContains(t, part, ` style="`)
}
