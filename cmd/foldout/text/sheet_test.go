package text

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"

	"foldout/features"
	"foldout/plan/sheet"
)

// inventedSheet has so many tracks on so many pairs; names, roles and figures are invented.
func inventedSheet(tracks, pairs int) *sheet.Sheet {
	names := []string{"Drums", "Guitars", "Keys and synths", "Lead vocals", "Bass", "Percussion", "Strings and horns", "Backing vocals"}
	buses := []string{"Drums", "Electric guitars", "Keys", "Lead vocals", "Bass", "Percussion", "Strings", "Backing vocals"}
	reasons := []sheet.Reason{{Fact: "named and heard as a backing vocal", Detail: "64 %"}, {Fact: `named "rack tom", heard as an overhead`, Detail: "34 %"},
		{Fact: "the same performance as 01 Kick In", Detail: "coherence 0.99, 1.4 ms apart, polarity flipped"},
		{Fact: "an effect return fed by 25 Lead Vox", Detail: "77 % of its energy follows it"}, {Fact: "one stereo sound with 07 OH L", Detail: "coherence 0.60"},
		{Fact: "named and heard as an acoustic guitar", Detail: "81 %"}}
	decided := sheet.Reason{Fact: "centroid 1.48 kHz", Unit: "Hz", Comparison: &sheet.Comparison{Nearer: "Guitars", NearerValue: 1530, Farther: "Strings and horns", FartherValue: 898}}
	s := &sheet.Sheet{Title: "Paper Boats"}
	s.Figures.PairsUsed = pairs
	for p := range pairs {
		s.Pairs = append(s.Pairs, sheet.Pair{Name: names[p%8], Buses: []string{buses[p%8]}, Outputs: [2]int{2*p + 1, 2*p + 2}, Reason: "drums (10), percussion (2); centroids 82 Hz to 5.29 kHz"})
	}
	for t := range tracks {
		p := t % pairs
		tr := sheet.Placement{File: fmt.Sprintf("%02d Track %d.wav", t+1, t+1), Bus: buses[p%8], Confidence: 1, RunnerUp: names[(p+1)%pairs%8],
			Reasons: []sheet.Reason{reasons[t%len(reasons)], decided}}
		tr.Measured.CentroidHz, tr.Measured.CrestDB = features.Positive(900+float64(t)), features.DB(12+t%5)
		tr.Measured.RegisterShare = features.Shares{0.01, 0.3, 0.3, 0.2, 0.1, 0.08, 0.01}
		s.Pairs[p].Tracks = append(s.Pairs[p].Tracks, tr)
	}
	return s
}

// oneScreen is the height of a terminal window of usual size on a desk, in lines (common practice, no source).
const oneScreen = 50

func TestASheetFitsItsScreen(t *testing.T) {
	for _, width := range []int{60, 80, 100, 120} {
		for _, all := range []bool{false, true} {
			t.Run(fmt.Sprintf("%d columns, all reasons %v", width, all), func(t *testing.T) {
				s := inventedSheet(30, 4)
				s.Pairs[1].Tracks[0].Confidence = 0.6
				s.SetAside = []sheet.SetAside{{File: "Spare.wav", Reason: "silent: nothing rises above the noise floor"}}
				text := sheetText(screen{width: width}, s, all)
				lines := strings.Split(text, "\n")
				for _, line := range lines {
					assert.LessOrEqual(t, runewidth.StringWidth(line), width, line)
					assert.Equal(t, strings.TrimRight(line, " "), line, "spaces at the end")
				}
				if width >= 100 && !all {
					assert.LessOrEqual(t, len(lines), oneScreen, "30 tracks on 4 pairs are one screen")
				}
				for _, p := range s.Pairs {
					assert.Contains(t, text, strings.ToUpper(p.Name))
					for _, tr := range p.Tracks {
						assert.Contains(t, text, displayName(tr.File))
					}
				}
				assert.Contains(t, text, "60 % or 3", "the pair that would do as well, by its number")
				assert.NotContains(t, text, "\x1b")
			})
		}
	}
}

func TestReasonsAreSeldomCut(t *testing.T) {
	for _, width := range []int{80, 100, 120} {
		text := sheetText(screen{width: width}, inventedSheet(30, 4), false)
		assert.LessOrEqual(t, strings.Count(text, "…"), 3, "%d columns:\n%s", width, text)
	}
}

func TestColumnsStandInLine(t *testing.T) {
	at := -1
	for _, line := range strings.Split(sheetText(screen{width: 100}, inventedSheet(30, 4), false), "\n") {
		before, _, found := strings.Cut(line, "100 %")
		if !found {
			continue
		}
		if at < 0 {
			at = runewidth.StringWidth(before)
		}
		assert.Equal(t, at, runewidth.StringWidth(before), line)
	}
	assert.Positive(t, at)
}

func TestColourCarriesNothing(t *testing.T) {
	s := inventedSheet(12, 4)
	plainText, coloured := sheetText(screen{width: 100}, s, false), sheetText(screen{width: 100, tty: true}, s, false)
	assert.NotEqual(t, plainText, coloured)
	assert.Equal(t, plainText, strip(coloured), "without its colours it says the same")
}

// strip takes the escape sequences of colours out of a text.
func strip(s string) string {
	var b strings.Builder
	for len(s) > 0 {
		if strings.HasPrefix(s, "\x1b[") {
			s = s[strings.IndexByte(s, 'm')+1:]
			continue
		}
		b.WriteByte(s[0])
		s = s[1:]
	}
	return b.String()
}

func TestScreenOf(t *testing.T) {
	for _, c := range []struct {
		columns string
		want    int
	}{{"", inPipes}, {"80", 80}, {"20", narrowest}, {"500", widest}, {"wide", inPipes}} {
		t.Setenv("COLUMNS", c.columns)
		assert.Equal(t, screen{width: c.want}, screenOf(&bytes.Buffer{}), "a pipe with COLUMNS=%s", c.columns)
		r, w, err := os.Pipe()
		assert.NoError(t, err)
		assert.Equal(t, screen{width: c.want}, screenOf(w))
		assert.NoError(t, r.Close())
		assert.NoError(t, w.Close())
	}
}

func TestNamesCannotSteerTheTerminal(t *testing.T) {
	s := inventedSheet(4, 2)
	s.Title, s.Pairs[0].Name = "a\x1b[2Jb", "c\x07d"
	s.Pairs[0].Tracks[0].File, s.Pairs[0].Tracks[0].Bus = "\x1b]0;title\x07kick\u202e.wav", "bus\r\n"
	s.Pairs[0].Tracks[0].Reasons[0].Fact = "x\x1b[31my"
	s.SetAside = []sheet.SetAside{{File: "\x1b[1mz.wav", Reason: "silent\x00"}}
	for _, all := range []bool{false, true} {
		text := sheetText(screen{width: 100}, printableSheet(s), all)
		for _, r := range text {
			assert.False(t, r < ' ' && r != '\n' || r == 0x7f || r == 0x202e, "%U in the text", r)
		}
	}
}

func TestShortReason(t *testing.T) {
	for _, c := range []struct {
		fact, detail string
		width        int
		want         string
	}{ // by hand
		{"named and heard as a kick", "64 %", 40, "named and heard as a kick (64 %)"},
		{"named and heard as a kick", "64 %", 30, "named and heard as a kick"},
		{"part of the mix on 10 Drums Parallel", "77 % of that track's energy", 40, "part of the mix on 10 Drums Parallel"},
		{"one two three four", "", 10, "one two…"},
		{"unbreakable", "", 5, "unbr…"},
	} {
		assert.Equal(t, c.want, shortReason(&sheet.Reason{Fact: c.fact, Detail: c.detail}, c.width))
	}
}

func TestLinesBreakAtBlanksOnly(t *testing.T) {
	assert.Equal(t, "left by -3.01\ndB on a\n25-way plug", wrap("left by -3.01 dB on a 25-way plug", 13)) // 13 columns hold the first three words
}
