package plan

import (
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	s := prepareSong(t, Options{Pairs: 4, Seed: 1})
	sheet, err := s.Suggest()
	require.NoError(t, err)
	bass := ""
	for _, p := range sheet.Pairs {
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
		{"", []string{"4 of 4 pairs", "The idea", sheet.Pairs[0].Name, sheet.Pairs[3].Name, "With one more pair"}},
		{"2", []string{"Pair 2, " + sheet.Pairs[1].Name, "outputs 3 and 4"}},
		{strings.ToUpper(sheet.Pairs[1].Name), []string{"Pair 2"}},
		{"bass di", []string{"Bass DI: pair", bass, "Bass Amp", "Its sound against theirs"}},
		{"Lead Vox.wav", []string{"leadvox", "By ear alone", "Voices belong together"}},
	} {
		x, err := s.Explain(sheet, c.target)
		require.NoError(t, err, c.target)
		for _, want := range c.want {
			assert.Contains(t, textOf(x), want, c.target)
		}
	}
	_, err = s.Explain(sheet, "Nobody")
	assert.ErrorContains(t, err, "neither a pair")
	_, err = s.Explain(sheet, "Spare")
	assert.ErrorContains(t, err, "silent")
	_, err = s.Explain(&Sheet{Pairs: []Pair{{Tracks: []Placement{{File: "other.wav"}}}}}, "")
	assert.ErrorContains(t, err, "none of the sheet's tracks")
}

func TestKickAndBassAreArguedFor(t *testing.T) {
	text := argumentFor(map[string]bool{"Drums": true, "Bass": true, "Percussion": true})
	assert.Contains(t, text, "Kick and bass")
	assert.Empty(t, argumentFor(map[string]bool{"Drums": true, "Lead vocals": true}), "nobody would argue for that")
	for _, a := range arguments {
		for _, b := range a.buses {
			assert.Contains(t, busNames(), b, "an argument about a bus that there is")
		}
	}
}

func busNames() []string {
	var out []string
	for _, r := range Roles {
		out = append(out, busFor(r))
	}
	return out
}

func TestGlossaryIsComplete(t *testing.T) {
	seen := map[string]bool{}
	for _, term := range Glossary() {
		v := reflect.ValueOf(term)
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; name != "Unit" {
				assert.NotEmpty(t, v.Field(i).String(), "%s of %s", name, term.Word)
			}
		}
		assert.False(t, seen[term.Word], "%s twice", term.Word)
		seen[term.Word] = true
	}
	for _, r := range FigureRows {
		assert.True(t, seen[r.Word], "figure %q is explained under %q", r.Name, r.Word)
	}
	assert.Len(t, LookUp("Crest-Factor"), 1)
	assert.Greater(t, len(LookUp("loudness")), 2)
	assert.Empty(t, LookUp("flux capacitor"))
	assert.Empty(t, LookUp(""))
}
