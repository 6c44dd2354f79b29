package fold

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A fold that was found and the same fold made by hand are one sheet, but for how firm each place is.
func TestAFoldMadeByHandIsASheetLikeAnyOther(t *testing.T) {
	s := prepareSong(t, Options{Pairs: 4, Seed: 1})
	found, err := s.Fold(4)
	require.NoError(t, err)
	want, err := s.Sheet(found)
	require.NoError(t, err)
	g := s.ByHand(slices.Clone(found.Labels), 4, nil)
	got, err := s.Sheet(g)
	require.NoError(t, err)
	assert.Equal(t, want.Figures, got.Figures)
	for n, p := range want.Pairs {
		assert.Equal(t, p.Name, got.Pairs[n].Name)
		for k, track := range p.Tracks {
			assert.Equal(t, track.File, got.Pairs[n].Tracks[k].File)
			assert.Equal(t, track.RunnerUp, got.Pairs[n].Tracks[k].RunnerUp)
		}
	}
	away := slices.Clone(found.Labels)
	away[0] = (away[0] + 1) % 4 // out of its company
	moved := s.ByHand(away, 4, []string{"Mine"})
	s.Judge(g)
	s.Judge(moved)
	assert.Less(t, moved.Confidence[0], g.Confidence[0])
	doc, err := s.Sheet(moved)
	require.NoError(t, err)
	assert.Equal(t, "Mine", doc.Pairs[0].Name)
}

// By brute force: the pair of pairs whose union spreads least is joined; company that was together stays together.
func TestShrinkJoinsWhatLiesNearest(t *testing.T) {
	s := prepareSong(t, Options{Pairs: 6, Seed: 1})
	g, err := s.Fold(6)
	require.NoError(t, err)
	labels := s.order(g.Labels, 6)
	used := slices.Max(labels) + 1
	require.Greater(t, used, 3)
	got, was, err := s.Shrink(labels, 6, used-1, nil)
	require.NoError(t, err)
	require.Len(t, was, used-1)
	assert.Less(t, slices.Max(got), used-1)
	for a := range labels {
		for b := range labels {
			if labels[a] == labels[b] {
				assert.Equal(t, got[a], got[b])
			}
		}
	}
	reached, err := s.Spread(got)
	require.NoError(t, err)
	for a := range used {
		for b := range a {
			trial := slices.Clone(labels)
			for p, l := range trial {
				if l == a {
					trial[p] = b
				}
			}
			spread, err := s.Spread(trial)
			require.NoError(t, err)
			assert.GreaterOrEqual(t, spread, reached-1e-12)
		}
	}
	kept := make([]bool, 6)
	kept[0], kept[1] = true, true
	got, was, err = s.Shrink(labels, 6, 3, kept)
	require.NoError(t, err)
	assert.Equal(t, []int{0, 1}, was[:2])
	for p, l := range labels {
		assert.Equal(t, l == 0, got[p] == 0)
		assert.Equal(t, l == 1, got[p] == 1)
	}
	_, _, err = s.Shrink(labels, 6, 1, kept)
	assert.Error(t, err)
}
