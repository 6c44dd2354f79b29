package explain

import (
	"strings"
	"testing"

	"foldout/testdata/song"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/fold"
	"foldout/plan/sheet"
)

func textOf(x *Explanation) string {
	var b strings.Builder
	b.WriteString(x.Title)
	for _, s := range x.Sections {
		b.WriteString("\n" + s.Head + "\n" + strings.Join(s.Paragraphs, "\n"))
	}
	return b.String()
}

func TestExplanationsOfSheetPairAndTrack(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	doc, err := s.Suggest()
	require.NoError(t, err)
	bass := ""
	for _, p := range doc.Pairs {
		for _, tr := range p.Tracks {
			if tr.File == "Bass DI.wav" {
				bass = p.Name
			}
		}
	}
	for _, c := range []struct {
		target string
		want   []string
	}{
		{"", []string{"4 of 4 pairs", "The idea", doc.Pairs[0].Name, doc.Pairs[3].Name, "With one more pair"}},
		{"2", []string{"Pair 2, " + doc.Pairs[1].Name, "outputs 3 and 4"}},
		{strings.ToUpper(doc.Pairs[1].Name), []string{"Pair 2"}},
		{"bass di", []string{"Bass DI: pair", bass, "Bass Amp", "Its sound against theirs"}},
		{"Lead Vox.wav", []string{"leadvox", "By ear alone", "Voices belong together"}},
	} {
		x, err := Explain(s, doc, c.target)
		require.NoError(t, err, c.target)
		for _, want := range c.want {
			assert.Contains(t, textOf(x), want, c.target)
		}
	}
	_, err = Explain(s, doc, "Nobody")
	assert.ErrorContains(t, err, "neither a pair")
	_, err = Explain(s, doc, "Spare")
	assert.ErrorContains(t, err, "silent")
	_, err = Explain(s, &sheet.Sheet{Pairs: []sheet.Pair{{Tracks: []sheet.Placement{{File: "other.wav"}}}}}, "")
	assert.ErrorContains(t, err, "none of the sheet's tracks")
}

func TestExplainSaysWhichTracksAreGone(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 3, Seed: 1})
	sheet, err := s.Suggest()
	require.NoError(t, err)
	sheet.Pairs[0].Tracks[0].File = "Gone.wav"
	x, err := Explain(s, sheet, "")
	require.NoError(t, err)
	assert.Equal(t, []string{"Gone.wav"}, x.Unknown)
}

// prepareSong prepares the plain song of the tests.
func prepareSong(t testing.TB, opt fold.Options) *fold.Session {
	t.Helper()
	tracks, kin := song.Plain(t)
	opt.Kin = kin
	s, err := fold.Prepare("/songs/Harbour Lights", tracks, opt)
	require.NoError(t, err)
	return s
}

// A track that came into the folder after the sheet was made is on no pair of it.
func TestExplainAllOfASheetThatLacksATrack(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	doc, err := s.Suggest()
	require.NoError(t, err)
	for n := range doc.Pairs {
		if tracks := doc.Pairs[n].Tracks; len(tracks) > 2 {
			late := tracks[0].File
			doc.Pairs[n].Tracks = tracks[1:]
			for _, target := range []string{"", "1", "2", "3", "4", doc.Pairs[n].Tracks[0].File, late} {
				_, err = Explain(s, doc, target)
				if target == late {
					assert.ErrorContains(t, err, "on no pair of the sheet")
				} else {
					assert.NoError(t, err, target)
				}
			}
			doc.Pairs[n].Tracks = tracks
		}
	}
}
