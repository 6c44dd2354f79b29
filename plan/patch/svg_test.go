package patch

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// read walks an XML document to its end and collects elements and text.
func read(t *testing.T, doc string) (elements map[string]int, text string) {
	t.Helper()
	elements = map[string]int{}
	d := xml.NewDecoder(strings.NewReader(doc))
	var b strings.Builder
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return elements, b.String()
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			elements[token.Name.Local]++
			for _, a := range token.Attr {
				require.False(t, strings.HasPrefix(strings.ToLower(a.Name.Local), "on"), "no handlers")
				require.NotContains(t, a.Name.Local, "href", "no references")
			}
		case xml.CharData:
			b.Write(token)
			b.WriteByte('\n')
		}
	}
}

func TestSVGIsWellFormed(t *testing.T) {
	noReturn := studio(8, 8, rig.XLR, rig.TRS)
	noReturn.Return = rig.Return{}
	for name, r := range map[string]*rig.Rig{"looms": studio(16, 16, rig.DSub, rig.DSub), "leads": studio(8, 8, rig.TRS, rig.XLR), "no return": noReturn, "plain": nil} {
		t.Run(name, func(t *testing.T) {
			s := song(3)
			s.Pairs[2].Tracks = nil
			p, err := Make(s, r)
			require.NoError(t, err)
			elements, text := read(t, p.SVG())
			assert.Equal(t, 1, elements["svg"])
			for _, want := range []string{"P1 L", "P2 R", "Bus 1", "t2", "free: nothing is on it", Cautions[0]} {
				assert.Contains(t, text, want)
			}
			assert.Equal(t, r == nil || r.Return.Stated(), strings.Contains(text, "RET L"))
			_, text = read(t, p.Drawing())
			assert.NotContains(t, text, Cautions[0])
			assert.Contains(t, text, "P1 L")
		})
	}
}

// Names that try to leave their place: all must come out as text.
var hostile = []string{
	`</text><script>alert(1)</script>`, `" onload="alert(1)`, `<!--`, `]]>`, `&lt;&#0;&nope;`, `{{.}}`, "\x00\x1b[31m\u202ered", "\xff\xfe", "=1+1",
	strings.Repeat("W", 400), strings.Repeat("長い名前", 60), "tab\tand\nline", "", "../..", "e\u0301\u0301\u0301", "\ufffe\uffff",
}

func TestHostileNamesAreEscaped(t *testing.T) {
	plainElements, _ := read(t, mustMake(t, named("Kick")).SVG())
	for _, name := range hostile {
		t.Run(fmt.Sprintf("%.12q", name), func(t *testing.T) {
			elements, text := read(t, mustMake(t, named(name)).SVG())
			assert.Zero(t, elements["script"])
			assert.NotContains(t, text, "\x1b")
			for e, n := range plainElements { // names may need more or fewer text lines, nothing else
				if e != "text" {
					assert.Equal(t, n, elements[e], e)
				}
			}
			assert.Len(t, elements, len(plainElements))
		})
	}
}

// named makes a sheet of one pair where everything is called name.
func named(name string) *sheet.Sheet {
	return &sheet.Sheet{Title: name, Pairs: []sheet.Pair{{Name: name, Outputs: [2]int{1, 2}, Tracks: []sheet.Placement{{File: name, Bus: name}}}}}
}

func mustMake(t *testing.T, s *sheet.Sheet) *Patch {
	t.Helper()
	p, err := Make(s, nil)
	require.NoError(t, err)
	return p
}

func TestWrapKeepsEveryWordAndTheWidth(t *testing.T) {
	for _, s := range append(hostile, "Kick In, Kick Out, Snare Top, Snare Bottom, Overheads") {
		s = sheet.Printable(s)
		lines := wrap(s, 70, 12)
		assert.Equal(t, strings.Join(strings.Fields(s), ""), strings.ReplaceAll(strings.Join(lines, ""), " ", ""))
		for _, l := range lines {
			assert.LessOrEqual(t, wide(l, 12), 70.0, l)
		}
	}
	assert.Empty(t, wrap("", 70, 12))
}

// The card of a pair grows with its tracks, and no card reaches into the next.
func TestLanesDoNotOverlap(t *testing.T) {
	s := song(4)
	for n := range 60 {
		s.Pairs[1].Tracks = append(s.Pairs[1].Tracks, sheet.Placement{File: fmt.Sprintf("a long name of a track %d.wav", n), Bus: fmt.Sprintf("Bus %d", n%7)})
	}
	d := mustMake(t, s).layOut(true)
	for n, l := range d.Lanes {
		for _, text := range l.Text {
			assert.LessOrEqual(t, text.Y, l.Y+l.High)
		}
		if n > 0 {
			assert.GreaterOrEqual(t, l.Y, d.Lanes[n-1].Y+d.Lanes[n-1].High)
		}
	}
	assert.Greater(t, d.Height, d.Unit.Y+d.Unit.High)
}

func FuzzNames(f *testing.F) {
	for _, h := range hostile {
		f.Add(h, "Drums", "Print")
		f.Add("Song", h, h)
	}
	f.Fuzz(func(t *testing.T, title, track, print string) {
		s := named(title)
		s.Pairs[0].Tracks[0].File = track
		r := rig.Plain(1)
		r.Return.PrintTrack, r.Interfaces[0].Name, r.Summing.Name = print, title, track
		r.Return.Interface = title
		p, err := Make(s, r)
		if err != nil {
			return // the names contradict the rig, and it says so
		}
		elements, _ := read(t, p.SVG())
		if elements["script"] != 0 {
			t.Fatal("a name became an element")
		}
		if err := p.WriteCSV(io.Discard); err != nil {
			t.Fatal(err)
		}
	})
}
