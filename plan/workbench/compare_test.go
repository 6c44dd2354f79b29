package workbench

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A sheet file beside the present one: another order of its pairs is no difference, a track that stands elsewhere is one,
// with reasons; a table made by hand does as well; what is of another session is said.
func TestAnySheetBesideThePresentOne(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	var saved struct{ Path string }
	require.Equal(t, 200, o.post(t, "save", struct{}{}, &saved))
	doc := loadSheet(t, saved.Path)
	doc.Pairs[0], doc.Pairs[1] = doc.Pairs[1], doc.Pairs[0]
	turned := filepath.Join(filepath.Dir(dir), "turned.json")
	data, err := json.Marshal(doc)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(turned, data, 0o600))
	var c Comparison
	require.Equal(t, 200, o.post(t, "compare", other{Path: turned}, &c))
	if c.Change != nil {
		assert.Empty(t, c.Change.Moves, "the pairs hold the same tracks")
	}
	require.Len(t, c.Pairs, 4)
	assert.Equal(t, [2]int{1, 2}, [2]int{c.Pairs[0].Number, c.Pairs[0].Was})
	assert.Equal(t, doc.Pairs[1].Name, c.Pairs[0].Name)

	home := pairOf(o.bench.state().Session, "Hat.wav")
	away := home%4 + 1
	o.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: away})
	c = Comparison{}
	require.Equal(t, 200, o.post(t, "compare", other{Path: turned}, &c))
	require.Len(t, c.Change.Moves, 1)
	m := c.Change.Moves[0]
	assert.Equal(t, []any{"Hat.wav", home, away}, []any{m.File, m.From, m.To})
	assert.NotEmpty(t, append(m.For, m.Against...), "why")
	assert.NotEmpty(t, c.Change.Figures)

	// a table that leaves a track out, has one too many, and fewer pairs
	table := filepath.Join(filepath.Dir(dir), "mine.csv")
	rows := []string{"track,pair"}
	for _, l := range o.bench.state().Session.Lanes {
		for _, tr := range l.Tracks {
			if tr.File != "Organ.wav" {
				rows = append(rows, tr.File+","+string(rune('0'+min(l.Number, 2))))
			}
		}
	}
	require.NoError(t, os.WriteFile(table, []byte(strings.Join(append(rows, "Kazoo.wav,1"), "\n")), 0o600))
	c = Comparison{}
	require.Equal(t, 200, o.post(t, "compare", other{Path: table}, &c))
	assert.Equal(t, []string{"Kazoo.wav"}, c.Lost)
	assert.Len(t, c.Pairs, 2)
	placed := map[string]Move{}
	for _, m := range c.Change.Moves {
		placed[m.File] = m
	}
	assert.Zero(t, placed["Organ.wav"].From, "it was on no pair there")

	// its grouping taken is one step, and undone as one
	var st State
	require.Equal(t, 200, o.post(t, "return", other{Path: turned}, &st))
	assert.Equal(t, 2, pairOf(st.Session, doc.Pairs[1].Tracks[0].File), "as it stands in the file")
	assert.Equal(t, "as in turned", st.Session.History[st.Session.At].Name)
	require.Equal(t, 200, o.post(t, "travel", map[string]int{"to": 1}, &st))
	assert.Equal(t, away, pairOf(st.Session, "Hat.wav"))

	require.NoError(t, os.WriteFile(table, []byte("track,pair\nKazoo.wav,1\n"), 0o600))
	assert.Contains(t, o.refused(t, "compare", other{Path: table}), "none of its tracks")
	assert.Contains(t, o.refused(t, "compare", other{Path: filepath.Join(dir, "Hat.wav")}), "Hat.wav")
	o.refused(t, "compare", other{Path: filepath.Join(dir, "none.json")})

	l := ask[listing](t, o, "folders?files=sheets")
	var names []string
	for _, f := range l.Files {
		names = append(names, f.Name)
	}
	assert.ElementsMatch(t, []string{"mine.csv", "turned.json", filepath.Base(saved.Path)}, names, "the journal is no sheet")
}

// What is no sheet is refused at once, with what to do.
func TestFilesThatCannotBeOpened(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, "")
	write := func(name, text string) string {
		path := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	for path, want := range map[string]string{
		filepath.Join(dir, "Hat.wav"):             "is a track; open the folder",
		write("a.csv", "track,pair\nHat.wav,1\n"): "is a table, not a sheet",
		write("a.json", `{"name":"x"}`):           "not a sheet",
		write("empty.json", ""):                   "the file is empty",
		write("gone.json", `{"schema":3,"folder":"/nowhere/at/all","pairs":[{"name":"A","tracks":[{"file":"a.wav"}]}]}`): "is not there any more",
		filepath.Join(dir, "none"): "no such folder or sheet",
	} {
		assert.ErrorContains(t, o.bench.Open(path), want)
		assert.Contains(t, o.refused(t, "open", map[string]string{"path": path}), want)
	}
	assert.Nil(t, o.bench.state().Opening)
}
