package workbench

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/sheet"
	"foldout/testdata/song"
	"foldout/testdata/underrace"
)

// writeMono writes a mono file of 32-bit floats.
func writeMono(t testing.TB, path string, x []float32) {
	t.Helper()
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: 48000, Channels: 1, Encoding: wavfile.Float32}, false)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{x}))
	require.NoError(t, w.Close())
}

// withItsMix is the song with its own mix lying among the tracks.
func withItsMix(t testing.TB) string {
	t.Helper()
	dir := songFolder(t)
	paths, err := filepath.Glob(filepath.Join(dir, "*.wav"))
	require.NoError(t, err)
	mix := make([]float32, 12*48000)
	for _, p := range paths {
		for i, v := range samples(t, p) {
			mix[i] += 0.25 * v
		}
	}
	writeMono(t, filepath.Join(dir, "Full Mix.wav"), mix)
	return dir
}

// What is no track is set aside by what it is, comes back when a person says so, and stays where they put it.
func TestAMixAmongTheTracks(t *testing.T) {
	underrace.Skip(t)
	o := start(t, Options{}, withItsMix(t))
	v := o.bench.state().Session
	require.Zero(t, pairOf(v, "Full Mix.wav"))
	var reason string
	for _, a := range v.Aside {
		if a.File == "Full Mix.wav" {
			reason = a.Reason
			assert.True(t, a.Yours)
		}
	}
	assert.Contains(t, reason, "add up to it")
	v = o.do(t, Act{Do: "back", Tracks: []string{"Full Mix.wav"}})
	assert.NotZero(t, pairOf(v, "Full Mix.wav"), "a person's word goes before what was found")
	v = o.do(t, Act{Do: "move", Tracks: []string{"Full Mix.wav"}, Pair: 3})
	assert.Equal(t, 3, pairOf(v, "Full Mix.wav"))
	var saved struct{ Path string }
	require.Equal(t, 200, o.post(t, "save", struct{}{}, &saved))
	assert.Equal(t, []string{"Full Mix.wav"}, loadSheet(t, saved.Path).Settings.Include)
	// of a part of the tracks the mix is no sum any more; it stays what it was found to be
	o.do(t, Act{Do: "aside", Tracks: []string{"Full Mix.wav", "Hat.wav", "Organ.wav"}})
	v = o.do(t, Act{Do: "back", Tracks: []string{"Hat.wav"}})
	assert.NotZero(t, pairOf(v, "Hat.wav"))
	assert.Zero(t, pairOf(v, "Full Mix.wav"))
}

// A doubt about a file is a question, and one word settles it: it is a track, or it is set aside.
func TestDoubtsAreQuestions(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	s := o.bench.current()
	s.mu.Lock()
	s.asked = append(s.asked, question("Organ.wav"), question("Hat.wav"))
	s.mu.Unlock()
	v := o.do(t, Act{Do: "title", Text: "Asked"})
	require.GreaterOrEqual(t, len(v.Questions), 2)
	assert.Equal(t, "Organ.wav", v.Questions[0].File)
	assert.Zero(t, v.Questions[0].Next)
	assert.Equal(t, pairOf(v, "Organ.wav"), v.Questions[0].Pair)
	o.do(t, Act{Do: "keep", Tracks: []string{"Organ.wav"}})
	v = o.do(t, Act{Do: "aside", Tracks: []string{"Hat.wav"}})
	for _, q := range v.Questions {
		assert.NotZero(t, q.Next, "%s is still asked about", q.File)
	}
	assert.NotZero(t, pairOf(v, "Organ.wav"))
	assert.Zero(t, pairOf(v, "Hat.wav"))
}

// Names that hold commas, signs of equality, brackets and stars are names like others to ties, locks and the saved sheet.
func TestNamesWithSigns(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "Signs")
	require.NoError(t, os.Mkdir(dir, 0o777))
	song.Write(t, dir, nil)
	for from, to := range map[string]string{"Kick In.wav": "Kick, In=1.wav", "Lead Vox.wav": "Lead, Vox [2]*.wav", "Hat.wav": "Kick.wav", "Organ.wav": "In=1.wav"} {
		require.NoError(t, os.Rename(filepath.Join(dir, from), filepath.Join(dir, to)))
	}
	o := start(t, Options{}, dir)
	kick, vox := "Kick, In=1.wav", "Lead, Vox [2]*.wav"
	v := o.do(t, Act{Do: "tie", Tracks: []string{kick, vox}})
	away := pairOf(v, kick)%4 + 1
	o.do(t, Act{Do: "move", Tracks: []string{kick, vox}, Pair: away})
	o.do(t, Act{Do: "lock", Tracks: []string{kick}, On: true})
	o.do(t, Act{Do: "apart", Tracks: []string{"Kick.wav", vox}})
	var offer Offer
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "refold"}, &offer))
	if offer.Change != nil {
		o.do(t, Act{Do: "offer", Offer: offer.ID})
	}
	v = o.bench.state().Session
	assert.Equal(t, away, pairOf(v, kick))
	assert.Equal(t, away, pairOf(v, vox))
	assert.NotEqual(t, away, pairOf(v, "Kick.wav"))
	v = o.do(t, Act{Do: "aside", Tracks: []string{vox}})
	assert.Zero(t, pairOf(v, vox))
}

func question(file string) sheet.Question {
	return sheet.Question{File: file, Kind: "click", Certainty: 0.5, Text: "is it a click track? it ticks"}
}
