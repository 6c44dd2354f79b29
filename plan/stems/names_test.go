package stems

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
)

// Characters that file names may not hold: <>:"/\|?* and U+0000 to U+001F, no dot or space at the end (naming rules of
// Windows, the strictest of the common systems); names of at most 255 bytes (most Unix file systems).
func TestFileNamesSuitAllSystems(t *testing.T) {
	for _, c := range []struct {
		number, pairs int
		name, want    string
	}{
		{1, 4, "Drums", "Pair 1 Drums.wav"},
		{3, 12, "Drums", "Pair 03 Drums.wav"},
		{1, 4, "Keys/Synths: all?", "Pair 1 Keys-Synths- all-.wav"},
		{1, 4, `a\b|c<d>e"f*g`, "Pair 1 a-b-c-d-e-f-g.wav"},
		{1, 4, "Vocals. . ", "Pair 1 Vocals.wav"},
		{1, 4, "  tab\there\nline ", "Pair 1 tab here line.wav"},
		{1, 4, "", "Pair 1.wav"},
		{1, 4, "..", "Pair 1.wav"},
		{1, 4, "Chœurs e\u0301tage", "Pair 1 Chœurs étage.wav"}, // composed, NFC
		{1, 4, "bell\a\u200bwidth\u202e", "Pair 1 bellwidth.wav"},
		{1, 4, "bad\xffbyte", "Pair 1 bad-byte.wav"},
	} {
		assert.Equal(t, c.want, FileName(c.number, c.pairs, c.name))
	}
	assert.Equal(t, "Pair 2 Bus 11 Toms.wav", BusFileName(2, 4, 11, "Toms"))
	assert.LessOrEqual(t, len(FileName(1, 4, strings.Repeat("ß", 400))), longestName)
}

func FuzzFileNameHoldsNothingForbidden(f *testing.F) {
	for _, s := range []string{"Drums", "a/b", "..", "\x00", "\xff\xfe", strings.Repeat("x.", 300), "CON", "e\u0301"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		got := FileName(1, 4, name)
		if len(got) > longestName || !utf8.ValidString(got) || !strings.HasPrefix(got, "Pair 1") || !strings.HasSuffix(got, ".wav") {
			t.Fatalf("%q gives %q", name, got)
		}
		if strings.ContainsAny(got, `<>:"/\|?*`) || strings.ContainsFunc(got, func(r rune) bool { return unicode.Is(unicode.C, r) }) {
			t.Fatalf("%q gives %q", name, got)
		}
		if body := strings.TrimSuffix(got, ".wav"); strings.TrimRight(body, ". ") != body {
			t.Fatalf("%q gives %q", name, got)
		}
	})
}
