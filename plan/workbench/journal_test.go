package workbench

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An act adds to the file and changes nothing of what it held: what a killed program had written stays readable whatever
// happens next.
func TestAnActOnlyAppends(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	path := o.bench.state().Session.Kept
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	first := len(before)
	var grown []int
	for n := range 40 {
		o.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: n%4 + 1})
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		require.True(t, strings.HasPrefix(string(after), string(before)), "act %d changed what was there", n)
		grown = append(grown, len(after)-len(before))
		before = after
	}
	assert.InDelta(t, grown[1], grown[39], 200, "the fortieth act costs what the second did, in bytes")
	assert.Less(t, grown[39], 3*first)
	require.Equal(t, 200, o.post(t, "travel", map[string]int{"to": 3}, nil))
	o.do(t, Act{Do: "title", Text: "Elsewhere"})
	require.Equal(t, 200, o.post(t, "version", map[string]string{"name": "a"}, nil))

	again := start(t, Options{}, dir).bench.state().Session
	now := o.bench.state().Session
	assert.Equal(t, now.History, again.History)
	assert.Equal(t, 4, again.At)
	assert.Equal(t, "Elsewhere", again.Title)
	assert.Equal(t, now.Versions, again.Versions)
}

// A program that dies while it writes leaves half a line, which had not been shown as done.
func TestAHalfWrittenLineIsPassedOver(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	v := o.do(t, Act{Do: "title", Text: "Kept"})
	o.stop()
	whole, err := os.ReadFile(v.Kept)
	require.NoError(t, err)
	for _, torn := range []string{`{"put":[{"n":2,"step":{"na`, `{"put":[{"n":9,"step":{"name":"x","choice":{}}}],"len":10,"at":9}` + "\n", "\x00\x00\x00"} {
		require.NoError(t, os.WriteFile(v.Kept, append(append([]byte{}, whole...), torn...), 0o600))
		p := start(t, Options{}, dir)
		w := p.bench.state().Session
		assert.Equal(t, v.History, w.History)
		assert.Equal(t, "Kept", w.Title)
		p.do(t, Act{Do: "title", Text: "On"})
		p.stop()
		q := start(t, Options{}, dir)
		assert.Equal(t, "On", q.bench.state().Session.Title, "what comes after the half line is read")
		q.stop()
	}
}

// Two programs on one folder: neither writes over the other's steps, each takes them up.
func TestTwoProgramsOnOneSession(t *testing.T) {
	dir := songFolder(t)
	a, b := start(t, Options{}, dir), start(t, Options{}, dir)
	a.do(t, Act{Do: "title", Text: "From the first"})
	why := b.refused(t, "act", Act{Do: "title", Text: "From the second"})
	if why != "" {
		assert.Contains(t, why, "another foldout")
	}
	v := b.do(t, Act{Do: "lock", Tracks: []string{"Hat.wav"}, On: true})
	assert.Equal(t, "From the first", v.Title)
	a.wait(t, "the first sees the second's step", func(st *State) bool { return len(st.Session.History) == len(v.History) })
	assert.Equal(t, v.History, a.bench.state().Session.History)
}

// Sessions of the layout before are taken up; their file stays as it is.
func TestASessionOfTheLayoutBefore(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	o.do(t, Act{Do: "title", Text: "Old"})
	require.Equal(t, 200, o.post(t, "version", map[string]string{"name": "then"}, nil))
	s := o.bench.current()
	s.mu.Lock()
	old, err := json.Marshal(kept{keptSchema, dir, s.at, s.history, s.keep.versions})
	s.mu.Unlock()
	require.NoError(t, err)
	o.stop()
	require.NoError(t, os.Remove(o.bench.session.keep.path))
	require.NoError(t, os.WriteFile(dir+".foldout.json", old, 0o600))
	p := start(t, Options{}, dir)
	w := p.do(t, Act{Do: "lock", Tracks: []string{"Hat.wav"}, On: true})
	assert.Equal(t, "Old", w.Title)
	assert.Len(t, w.History, 3)
	require.Len(t, w.Versions, 1)
	still, err := os.ReadFile(dir + ".foldout.json")
	require.NoError(t, err)
	assert.Equal(t, string(old), string(still))
	q := start(t, Options{}, dir)
	assert.Len(t, q.bench.state().Session.History, 3)
	assert.Len(t, q.bench.state().Session.Versions, 1)

}
