package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Names as people type them; all invented.
func TestTracksAreFoundWithoutTheirNumbers(t *testing.T) {
	f := NewFinder([]string{"01 Kick In.wav", "a/02_Snare-Top.wav", "b/02_Snare-Top.wav", "808.wav", "12 BV 1.wav", "13 BV 2.wav"})
	for name, want := range map[string]int{
		"01 Kick In.wav": 0, "01 kick in": 0, "Kick In": 0, "kick_in.wav": 0, "b/02_Snare-Top.wav": 2, "808": 3, "BV 2": 5,
	} {
		got, err := f.One(name)
		require.NoError(t, err, name)
		assert.Equal(t, want, got, name)
	}
	for name, want := range map[string]string{
		"Snare Top": `2 tracks are called "Snare Top" (a/02_Snare-Top.wav, b/02_Snare-Top.wav); give the folder and the number too`,
		"kik in":    `no track is called "kik in"; did you mean "01 Kick In"?`,
		"BV":        `no track is called "BV"; did you mean "12 BV 1" or "13 BV 2"?`,
		"02 BV 2":   `no track is called "02 BV 2"; did you mean "13 BV 2" or "12 BV 1"?`, // a wrong number is no match
		"Tuba":      `no track is called "Tuba"; names are file names, with or without .wav`,
		"":          `no track is called ""; names are file names, with or without .wav`,
	} {
		_, err := f.One(name)
		assert.EqualError(t, err, want, name)
	}
}

// Where the system tells capitals and composed letters apart, a name that is right letter by letter is one track; as people
// type it, it may be two.
func TestTwinsAreToldApartByTheirExactNames(t *testing.T) {
	files := []string{"Kick.wav", "kick.wav", "Caf\u00e9.wav", "Cafe\u0301.wav"}
	f := NewFinder(files)
	for want, name := range files {
		got, err := f.One(name)
		require.NoError(t, err, name)
		assert.Equal(t, want, got, name)
	}
	_, err := f.One("KICK")
	assert.EqualError(t, err, `2 tracks are called "KICK" (Kick.wav, kick.wav); give the folder and the number too`)
}

// A table may come from Windows: backslashes, drive letters, another spelling, dots and spaces at the end, which Windows drops.
func TestTracksAreFoundByPathsOfWindows(t *testing.T) {
	f := NewFinder([]string{"01 Kick In.wav", "a/02_Snare-Top.wav", "b/02_Snare-Top.wav", "aux.wav", "CON.flac", "nul.take.wav"})
	for name, want := range map[string]int{
		`C:\Songs\Lamps\01 Kick In.wav`: 0, `\\server\share\01 KICK IN.WAV`: 0, `.\01 Kick In.wav`: 0, "01 Kick In.wav ": 0, "01 Kick In. ": 0,
		`b\02_Snare-Top.wav`: 2, `A\02_SNARE-TOP.WAV`: 1, "AUX": 3, "con": 4, "nul.take": 5,
	} {
		got, err := f.One(name)
		require.NoError(t, err, name)
		assert.Equal(t, want, got, name)
	}
}

// Every ending that is read may be left out of a table, or differ from that of a table made before the files were exported anew.
func TestEndingsMayBeLeftOut(t *testing.T) {
	for _, ending := range []string{".wav", ".WAVE", ".bwf", ".rf64", ".aif", ".AIFF", ".aifc", ".flac"} {
		f := NewFinder([]string{"Tom Hi" + ending, "Kick.wav"})
		for _, name := range []string{"Tom Hi", "tom_hi.wav", "Tom Hi" + ending} {
			assert.Equal(t, []int{0}, f.All(name), "%s for Tom Hi%s", name, ending)
		}
	}
}
