package workbench

import (
	"crypto/sha256"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/sheet"
)

// contents are the sums of all files below a folder.
func contents(t *testing.T, dir string) map[string][32]byte {
	t.Helper()
	out := map[string][32]byte{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		out[path] = sha256.Sum256(data)
		return err
	}))
	return out
}

func TestNothingIsLost(t *testing.T) {
	dir := songFolder(t)
	before := contents(t, dir)
	o := start(t, Options{}, dir)
	o.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: 3})
	o.do(t, Act{Do: "name pair", Pair: 3, Text: "Odd ones"})
	v := o.do(t, Act{Do: "aside", Tracks: []string{"Organ.wav"}})
	assert.Equal(t, dir+".foldout.jsonl", v.Kept)
	assert.Equal(t, before, contents(t, dir), "the tracks' folder is as it was")

	// another program on the same folder sees all of it, though the first was never told to end
	p := start(t, Options{}, dir)
	w := p.bench.state().Session
	assert.Equal(t, v.History, w.History)
	assert.Equal(t, v.At, w.At)
	assert.Equal(t, 3, pairOf(w, "Hat.wav"))
	assert.Equal(t, "Odd ones", w.Lanes[2].Name)
	assert.Zero(t, pairOf(w, "Organ.wav"))
	var st State
	require.Equal(t, 200, p.post(t, "travel", map[string]int{"to": 0}, &st))
	assert.NotZero(t, pairOf(st.Session, "Organ.wav"))
}

func TestAFileThatIsNotOursIsLeftAlone(t *testing.T) {
	dir := songFolder(t)
	others := map[string]string{".foldout.jsonl": `{"mine":1}`, "-2.foldout.jsonl": "no JSON at all"}
	for name, text := range others {
		require.NoError(t, os.WriteFile(dir+name, []byte(text), 0o600))
	}
	o := start(t, Options{}, dir)
	v := o.do(t, Act{Do: "lock", Tracks: []string{"Hat.wav"}, On: true})
	assert.Equal(t, dir+"-3.foldout.jsonl", v.Kept)
	for name, text := range others {
		data, err := os.ReadFile(dir + name)
		require.NoError(t, err)
		assert.Equal(t, text, string(data))
	}
	var saved struct{ Path string }
	require.NoError(t, os.WriteFile(dir+".sheet.json", []byte("not ours"), 0o600))
	require.Equal(t, 200, o.post(t, "save", struct{}{}, &saved))
	assert.Equal(t, dir+"-2.sheet.json", saved.Path)
	doc := loadSheet(t, saved.Path)
	assert.Equal(t, dir, doc.Folder)
	for _, p := range doc.Pairs {
		for _, tr := range p.Tracks {
			assert.GreaterOrEqual(t, tr.Confidence, 0.0)
		}
	}
}

// A saved sheet is what the commands read, and it can be opened again.
func TestASavedSheetOpensAgain(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	o.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: 2})
	v := o.do(t, Act{Do: "name pair", Pair: 2, Text: "Bright"})
	var saved struct{ Path string }
	require.Equal(t, 200, o.post(t, "save", struct{}{}, &saved))
	o.stop()
	require.NoError(t, os.Remove(v.Kept))
	doc, err := sheet.Load(saved.Path)
	require.NoError(t, err)
	doc.Notes = []sheet.Note{{Date: "2026-01-02", Text: "drive at 3"}}
	data, err := json.Marshal(doc)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(saved.Path, data, 0o644))
	p := start(t, Options{}, saved.Path)
	w := p.bench.state().Session
	assert.Equal(t, 2, pairOf(w, "Hat.wav"))
	assert.Equal(t, "Bright", w.Lanes[1].Name)
	assert.Len(t, w.Lanes, 4)
	p.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: 1})
	require.Equal(t, 200, p.post(t, "save", struct{}{}, &saved))
	again, err := sheet.Load(saved.Path)
	require.NoError(t, err)
	assert.Equal(t, doc.Notes, again.Notes, "what is kept for the recall sheet goes on")
}

func TestWhereNothingCanBeWrittenBesideTheFolder(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("the administrator may write anywhere")
	}
	dir := songFolder(t)
	require.NoError(t, os.Chmod(filepath.Dir(dir), 0o500))
	t.Cleanup(func() { os.Chmod(filepath.Dir(dir), 0o700) }) //nolint:errcheck // so that the test's folder can be removed
	recent := filepath.Join(t.TempDir(), "foldout", "recent.json")
	o := start(t, Options{Recent: recent}, dir)
	v := o.do(t, Act{Do: "lock", Tracks: []string{"Hat.wav"}, On: true})
	assert.Contains(t, v.Kept, filepath.Join(filepath.Dir(recent), "sessions"))
	assert.NotEmpty(t, v.KeptApart)
}

func TestVersionsAndRecentSessions(t *testing.T) {
	dir := songFolder(t)
	recent := filepath.Join(t.TempDir(), "deep", "recent.json")
	o := start(t, Options{Recent: recent}, dir)
	o.wait(t, "remembered", func(st *State) bool { return len(st.Recent) == 1 })
	assert.Equal(t, dir, o.bench.state().Recent[0].Folder)
	require.Equal(t, 200, o.post(t, "version", map[string]string{"name": "as found"}, nil))
	home := pairOf(o.bench.state().Session, "Hat.wav")
	o.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: home%4 + 1})
	var c Comparison
	require.Equal(t, 200, o.post(t, "compare", map[string]int{"version": 0}, &c))
	require.Len(t, c.Change.Moves, 1)
	assert.Equal(t, home, c.Change.Moves[0].From)
	assert.Equal(t, "as found", c.Name)
	var st State
	require.Equal(t, 200, o.post(t, "return", map[string]int{"version": 0}, &st))
	assert.Equal(t, home, pairOf(st.Session, "Hat.wav"))
	assert.Equal(t, "back to as found", st.Session.History[st.Session.At].Name)
	o.refused(t, "compare", map[string]int{"version": 1})
}

// Mix on: an export that changes a track, brings one and takes one is noticed; the sheet stays.
func TestTracksExportedAnew(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	v := o.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: 2})
	quieter(t, filepath.Join(dir, "Piano.wav"), filepath.Join(dir, "Piano.wav"))
	quieter(t, filepath.Join(dir, "BV 1.wav"), filepath.Join(dir, "BV 2.wav"))
	require.NoError(t, os.Remove(filepath.Join(dir, "Shaker.wav")))
	st := o.wait(t, "the change is noticed", func(st *State) bool { return st.Session.News != nil })
	n := st.Session.News
	assert.Equal(t, []string{"BV 2.wav"}, n.Came)
	assert.Equal(t, []string{"Shaker.wav"}, n.Went)
	require.Len(t, n.Changed, 1)
	assert.Equal(t, "Piano.wav", n.Changed[0].File)
	assert.InDelta(t, -6.02, float64(n.Changed[0].LUFS-n.Changed[0].LUFSBefore), 0.05, "half the amplitude is 6.02 dB less")
	w := st.Session
	assert.Equal(t, 2, pairOf(w, "Hat.wav"), "the sheet stays")
	assert.Equal(t, pairOf(w, "BV 1.wav"), pairOf(w, "BV 2.wav"), "the new one joins its like")
	for _, f := range []string{"Kick In.wav", "Piano.wav", "Lead Vox.wav"} {
		assert.Equal(t, pairOf(v, f), pairOf(w, f))
	}
}

// quieter writes a file at half its amplitude.
func quieter(t *testing.T, from, to string) {
	t.Helper()
	r, err := wavfile.Open(from)
	require.NoError(t, err)
	x := make([]float32, r.Info().Frames)
	_, err = r.Read([][]float32{x})
	require.NoError(t, err)
	require.NoError(t, r.Close())
	for i := range x {
		x[i] /= 2
	}
	w, err := wavfile.Create(to, wavfile.Format{SampleRateHz: 48000, Channels: 1, Encoding: wavfile.Float32}, true)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{x}))
	require.NoError(t, w.Close())
	later := time.Now().Add(time.Second)
	require.NoError(t, os.Chtimes(to, later, later))
}

func TestFoldersToChooseFrom(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, "")
	assert.Nil(t, o.bench.state().Session)
	l := ask[listing](t, o, "folders?at="+escape(filepath.Dir(dir)))
	require.Len(t, l.Folders, 1)
	assert.Equal(t, dir, l.Folders[0].Path)
	assert.Equal(t, 13, l.Folders[0].Tracks)
	inside := ask[listing](t, o, "folders?at="+escape(dir))
	assert.Equal(t, 13, inside.Tracks)
	assert.Equal(t, filepath.Dir(dir), inside.Parent)
	assert.Contains(t, o.refused(t, "open", map[string]string{"path": filepath.Join(dir, "none")}), "no such folder")
	empty := t.TempDir()
	require.NoError(t, o.bench.Open(empty))
	st := o.wait(t, "refused", func(st *State) bool { return st.Trouble != "" })
	assert.Contains(t, st.Trouble, "empty")
	assert.Contains(t, o.refused(t, "act", Act{Do: "title", Text: "x"}), "no session")
	_ = sheet.MaxPairs
}
