package report

import (
	"errors"
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/patch"
)

func write(t testing.TB, p Page) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, p.Write(&b))
	return b.String()
}

func wholePage(t testing.TB, tracks, pairs int) Page {
	t.Helper()
	p, err := whole(invented(tracks, pairs))
	require.NoError(t, err)
	return p
}

func TestNothingIsNoPage(t *testing.T) {
	var b strings.Builder
	assert.ErrorIs(t, Page{}.Write(&b), ErrEmpty)
	assert.Empty(t, b.String())
}

type broken struct{}

var errFull = errors.New("the disk is full")

func (broken) Write([]byte) (int, error) { return 0, errFull }

func TestTheWritersErrorComesBack(t *testing.T) {
	assert.ErrorIs(t, Page{Check: judged()}.Write(broken{}), errFull)
}

func TestSectionsAppearWithTheirData(t *testing.T) {
	all := wholePage(t, 24, 4)
	sections := []string{"check", "lanes", "map", "levels", "more", "patch", "aside", "merit", "glossary"}
	for _, c := range []struct {
		name string
		page Page
		want []string
	}{
		{"suggest", Page{Sheet: all.Sheet}, []string{"lanes", "map", "aside", "merit", "glossary"}},
		{"check", Page{Check: judged()}, []string{"check", "glossary"}},
		{"sweep", Page{Sweep: all.Sweep}, []string{"more", "glossary"}},
		{"levels", Page{Levels: all.Levels}, []string{"levels", "glossary"}},
		{"patch", Page{Patch: all.Patch}, []string{"patch"}},
		{"report", all, []string{"lanes", "map", "levels", "more", "patch", "aside", "merit", "glossary"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := write(t, c.page)
			for _, s := range sections {
				assert.Equal(t, contains(c.want, s), strings.Contains(text, `<section id="`+s+`"`), "section %s", s)
				assert.Equal(t, contains(c.want, s) && s != "merit", strings.Contains(text, `<a href="#`+s+`"`), "link to %s", s)
			}
			assert.Equal(t, 1, strings.Count(text, `id="cautions"`), "cautions stand on every page, once")
			for _, caution := range patch.Cautions {
				assert.Contains(t, text, html.EscapeString(caution))
			}
			assert.Equal(t, strings.Count(text, "<figure"), strings.Count(text, "<figcaption>")+strings.Count(text, `<figure class="ribbon">`), "every figure has a caption; that of the ribbons stands above the lanes")
		})
	}
}

func contains(list []string, s string) bool {
	for _, v := range list {
		if v == s {
			return true
		}
	}
	return false
}

func TestEveryTrackAndPairIsOnThePage(t *testing.T) {
	p := wholePage(t, 30, 5)
	text := write(t, p)
	for n, pair := range p.Sheet.Pairs {
		assert.Contains(t, text, fmt.Sprintf(`id="pair-%d"`, n+1))
		for _, track := range pair.Tracks {
			assert.Contains(t, text, "<bdi>"+trackName(track.File)+"</bdi>")
			for _, r := range track.Reasons {
				assert.Contains(t, text, html.EscapeString(typeset(inLane(&r))))
			}
		}
	}
	for _, a := range p.Sheet.SetAside {
		assert.Contains(t, text, trackName(a.File))
	}
}

func TestThePageLeavesNothingOutside(t *testing.T) {
	text := write(t, wholePage(t, 24, 4))
	assert.NotContains(t, text, "<script")
	assert.NotContains(t, text, "@import")
	assert.NotContains(t, text, "<?xml")
	for _, m := range regexp.MustCompile(`(?:href|src|action|data)="([^"]*)"`).FindAllStringSubmatch(text, -1) {
		assert.True(t, strings.HasPrefix(m[1], "#") || strings.HasPrefix(m[1], "data:,"), m[0])
	}
	for _, m := range regexp.MustCompile(`url\(([^)]*)\)`).FindAllStringSubmatch(text, -1) {
		assert.True(t, strings.HasPrefix(m[1], "#h"), m[0])
	}
	assert.Contains(t, text, "default-src 'none'", "and the browser is told so")
}

func TestOutputsAreThoseOfThePatch(t *testing.T) {
	p := wholePage(t, 8, 2)
	for n := range p.Patch.Lanes {
		p.Patch.Lanes[n].Lines[0].Output, p.Patch.Lanes[n].Lines[1].Output = 11+2*n, 12+2*n
	}
	text := write(t, p)
	assert.Contains(t, text, "outputs 11/12 to inputs 1/2")
	assert.Contains(t, text, "outputs 13/14 to inputs 3/4")
}

func TestAFreePairIsSaidToBeFree(t *testing.T) {
	s := invented(6, 3)
	s.Pairs[2].Tracks, s.Pairs[2].Reason = nil, "free: another pair would only cut one kind of track in two"
	text := write(t, Page{Sheet: s})
	assert.Contains(t, text, s.Pairs[2].Reason)
	assert.Contains(t, text, "1 pair free")
}

func TestASheetOfSilence(t *testing.T) {
	s := invented(4, 2)
	for p := range s.Pairs {
		for i := range s.Pairs[p].Tracks {
			s.Pairs[p].Tracks[i].Measured = silence
		}
	}
	text := write(t, Page{Sheet: s})
	assert.NotContains(t, text, "NaN")
	assert.NotContains(t, text, "Inf")
	assert.NotContains(t, text, `id="map"`, "no track has a place on it")
}
