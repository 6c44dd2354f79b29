package workbench

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/features/wavfile"
	"foldout/plan/check"
	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// The figures after a move are those that package fold computes for the same grouping from scratch, and the misfits those
// that package check finds in the same grouping written as a table.
func TestAMoveIsScoredAsCheckScoresIt(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	before := o.bench.state().Session
	require.Len(t, before.Lanes, 4)
	from := pairOf(before, "Hat.wav")
	to := pairOf(before, "Lead Vox.wav")
	require.NotEqual(t, from, to)
	v := o.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: to})
	assert.Equal(t, to, pairOf(v, "Hat.wav"))
	require.NotNil(t, v.Change)
	require.Len(t, v.Change.Moves, 1)
	assert.Equal(t, "Hat.wav", v.Change.Moves[0].File)
	assert.Equal(t, from, v.Change.Moves[0].From)
	assert.NotEmpty(t, v.Change.Figures)
	assert.NotEmpty(t, append(v.Change.Moves[0].For, v.Change.Moves[0].Against...), "reasons for or against")
	assert.Len(t, v.Change.Pairs, 2, "level and overlap of both pairs")

	s := o.bench.current()
	fresh, err := fold.Prepare(dir, s.tracks, fold.Options{Pairs: 4, Seed: 1})
	require.NoError(t, err)
	labels := make([]int, len(fresh.Live))
	table := "track,pair\n"
	for pos, i := range fresh.Live {
		f := fresh.Tracks[i].Profile.File
		labels[pos] = pairOf(v, f) - 1
		table += f + "," + string(rune('0'+pairOf(v, f))) + "\n"
	}
	want, err := fresh.FiguresOf(labels, 4)
	require.NoError(t, err)
	for _, row := range sheet.ShownRows(&want) {
		assert.Equal(t, row.Text(&want), figure(v, row.Name), row.Name)
	}
	manual, err := sheet.ReadManual(strings.NewReader(table))
	require.NoError(t, err)
	judged, err := check.Judge(fresh, manual, "by hand")
	require.NoError(t, err)
	var misfits []string
	for _, m := range judged.Misfits {
		misfits = append(misfits, m.File)
	}
	st := o.wait(t, "the places are judged", func(st *State) bool { return st.Session.Misfits >= 0 })
	var shown []string
	for _, l := range st.Session.Lanes {
		for _, tr := range l.Tracks {
			if tr.Misfit {
				shown = append(shown, tr.File)
			}
		}
	}
	slices.Sort(misfits)
	slices.Sort(shown)
	assert.Equal(t, misfits, shown)
	assert.Contains(t, shown, "Hat.wav")
	require.NotNil(t, st.Session.Change.Misfits)
	assert.Equal(t, [2]int{0, len(misfits)}, *st.Session.Change.Misfits)
}

func TestUndoAndRedoWithoutEnd(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	var seen []*View
	seen = append(seen, o.bench.state().Session)
	for n := range 60 {
		seen = append(seen, o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: n%3 + 1 + n%2}))
	}
	last := len(seen) - 1
	for _, at := range []int{0, last, last / 2, 1, last} {
		var st State
		require.Equal(t, 200, o.post(t, "travel", map[string]int{"to": at}, &st))
		assert.Equal(t, at, st.Session.At)
		assert.Len(t, st.Session.History, last+1)
		assert.Equal(t, pairOf(seen[at], "Organ.wav"), pairOf(st.Session, "Organ.wav"))
		assert.Equal(t, figure(seen[at], "spread within pairs (0 best)"), figure(st.Session, "spread within pairs (0 best)"))
	}
	assert.Equal(t, "Organ to "+seen[0].Lanes[pairOf(seen[1], "Organ.wav")-1].Name, seen[1].History[1].Name)
	require.Equal(t, 200, o.post(t, "travel", map[string]int{"to": 5}, nil))
	v := o.do(t, Act{Do: "lock", Tracks: []string{"Organ.wav"}, On: true})
	assert.Len(t, v.History, 7, "a new step takes the place of those that were undone")
	assert.Contains(t, o.refused(t, "travel", map[string]int{"to": 7}), "7 steps")
}

func TestAFoldAroundWhatIsLocked(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	v := o.bench.state().Session
	home := pairOf(v, "Bass DI.wav")
	away := home%4 + 1
	o.do(t, Act{Do: "move", Tracks: []string{"Bass DI.wav", "Shaker.wav"}, Pair: away})
	o.do(t, Act{Do: "lock", Tracks: []string{"Bass DI.wav"}, On: true})
	var offer Offer
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "refold"}, &offer))
	assert.Equal(t, away, pairOf(o.bench.state().Session, "Shaker.wav"), "an offer changes nothing")
	v = o.do(t, Act{Do: "offer", Offer: offer.ID})
	assert.Equal(t, away, pairOf(v, "Bass DI.wav"), "locked")
	assert.NotEqual(t, pairOf(v, "Shaker.wav"), pairOf(v, "Lead Vox.wav"))
	assert.Contains(t, o.refused(t, "act", Act{Do: "offer", Offer: offer.ID}), "anew", "an offer is good once")

	vocals := pairOf(v, "Lead Vox.wav")
	held := v.Lanes[vocals-1]
	o.do(t, Act{Do: "move", Tracks: []string{"Hat.wav"}, Pair: vocals})
	o.do(t, Act{Do: "lock pair", Pair: vocals, On: true})
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "refold"}, &offer))
	v = o.do(t, Act{Do: "offer", Offer: offer.ID})
	assert.Len(t, v.Lanes[vocals-1].Tracks, len(held.Tracks)+1, "a locked pair keeps its company and takes nobody in")
	assert.Equal(t, vocals, pairOf(v, "Hat.wav"))
}

func TestMoreAndFewerPairs(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	before := o.bench.state().Session
	var offer Offer
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "pairs", "pairs": 6}, &offer))
	v := o.do(t, Act{Do: "offer", Offer: offer.ID})
	require.Len(t, v.Lanes, 6)
	for _, a := range before.Lanes { // growing splits: what was apart stays apart
		for _, b := range before.Lanes {
			if a.Number != b.Number {
				for _, x := range a.Tracks {
					for _, y := range b.Tracks {
						assert.NotEqual(t, pairOf(v, x.File), pairOf(v, y.File), "%s and %s", x.File, y.File)
					}
				}
			}
		}
	}
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "pairs", "pairs": 2}, &offer))
	w := o.do(t, Act{Do: "offer", Offer: offer.ID})
	require.Len(t, w.Lanes, 2)
	for _, l := range v.Lanes { // shrinking joins: what was together stays together
		for _, x := range l.Tracks {
			assert.Equal(t, pairOf(w, l.Tracks[0].File), pairOf(w, x.File))
		}
	}
	for _, n := range []int{0, -1, 129, 2} {
		o.refused(t, "offer", map[string]any{"kind": "pairs", "pairs": n})
	}
}

func TestTiesSplitsAsideAndNames(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	v := o.bench.state().Session
	require.NotEqual(t, pairOf(v, "Lead Vox.wav"), pairOf(v, "Kick In.wav"))
	o.do(t, Act{Do: "tie", Tracks: []string{"Lead Vox.wav", "Kick In.wav"}})
	var offer Offer
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "refold"}, &offer))
	v = o.do(t, Act{Do: "offer", Offer: offer.ID})
	assert.Equal(t, pairOf(v, "Kick In.wav"), pairOf(v, "Lead Vox.wav"))
	o.do(t, Act{Do: "free", Tracks: []string{"Kick In.wav"}})
	o.do(t, Act{Do: "apart", Tracks: []string{"Bass DI.wav", "Kick In.wav"}})
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "refold"}, &offer))
	v = o.do(t, Act{Do: "offer", Offer: offer.ID})
	assert.NotEqual(t, pairOf(v, "Kick In.wav"), pairOf(v, "Bass DI.wav"))

	v = o.do(t, Act{Do: "aside", Tracks: []string{"Hat.wav"}})
	assert.Zero(t, pairOf(v, "Hat.wav"))
	assert.Contains(t, v.Aside, AsideView{"Hat.wav", "Hat", "set aside by you", true})
	v = o.do(t, Act{Do: "back", Tracks: []string{"Hat.wav"}})
	assert.Equal(t, pairOf(v, "Snare Top.wav"), pairOf(v, "Hat.wav"), "back to its like")
	assert.Contains(t, o.refused(t, "act", Act{Do: "back", Tracks: []string{"Spare.wav"}}), "no sound")

	v = o.do(t, Act{Do: "name pair", Pair: 1, Text: "  Low \t end\u202e "})
	assert.Equal(t, "Low end", v.Lanes[0].Name)
	assert.Contains(t, o.refused(t, "act", Act{Do: "name pair", Pair: 2, Text: "low END"}), "already")
	v = o.do(t, Act{Do: "name track", Tracks: []string{"Hat.wav"}, Text: `<img src=x onerror=alert(1)>`})
	i := slices.IndexFunc(v.Tracks, func(tr TrackView) bool { return tr.File == "Hat.wav" })
	assert.Equal(t, `<img src=x onerror=alert(1)>`, v.Tracks[i].Name)
	bus := busOf(v, "Piano.wav")
	o.do(t, Act{Do: "name bus", Bus: bus, Text: "Ivories"})
	v = o.do(t, Act{Do: "name bus", Bus: "Ivories", Text: "Ebony"})
	assert.Equal(t, "Ebony", busOf(v, "Piano.wav"))
	assert.Contains(t, o.refused(t, "act", Act{Do: "name bus", Bus: "None", Text: "x"}), "no bus")
	v = o.do(t, Act{Do: "name bus", Bus: "Ebony"})
	assert.Equal(t, bus, busOf(v, "Piano.wav"), "its own name again")
	v = o.do(t, Act{Do: "title", Text: "Another"})
	assert.Equal(t, "Another", v.Title)
	assert.Contains(t, o.refused(t, "act", Act{Do: "title", Text: strings.Repeat("x", 121)}), "too long")
}

func TestWhatCannotBeDoneChangesNothing(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	before := o.bench.state().Session
	var all []string
	for _, l := range before.Lanes {
		for _, tr := range l.Tracks {
			all = append(all, tr.File)
		}
	}
	for _, a := range []Act{
		{Do: "fly"}, {Do: "move", Tracks: []string{"../Bass DI.wav"}, Pair: 1}, {Do: "move", Tracks: []string{"Bass DI.wav"}, Pair: 5},
		{Do: "move", Tracks: []string{"Bass DI.wav"}, Pair: 0}, {Do: "move", Tracks: []string{"Spare.wav"}, Pair: 1}, {Do: "tie", Tracks: []string{"Hat.wav"}},
		{Do: "apart", Tracks: []string{"Hat.wav"}}, {Do: "lock pair", Pair: 9}, {Do: "name pair", Pair: 7, Text: "x"}, {Do: "offer", Offer: "none"}, {Do: "aside", Tracks: all},
	} {
		o.refused(t, "act", a)
	}
	after := o.bench.state().Session
	assert.Equal(t, before.Lanes, after.Lanes)
	assert.Len(t, after.History, len(before.History))
}

// Two pages on one session: both see what the other did, and neither loses anything.
func TestTwoPages(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	done := make(chan struct{})
	for _, f := range []string{"Organ.wav", "Hat.wav"} {
		go func() {
			defer func() { done <- struct{}{} }()
			for n := range 20 {
				o.do(t, Act{Do: "move", Tracks: []string{f}, Pair: n%4 + 1})
			}
		}()
	}
	<-done
	<-done
	v := o.bench.state().Session
	assert.Len(t, v.History, 41)
	assert.Equal(t, 4, pairOf(v, "Organ.wav"))
	assert.Equal(t, 4, pairOf(v, "Hat.wav"))
}

// 100 tracks, rescored after a move: figures, names, reasons for every track, what changed, and the file that keeps it.
// The target is 100 ms.
func BenchmarkMoveAmongAHundred(b *testing.B) {
	dir := filepath.Join(b.TempDir(), "Hundred")
	require.NoError(b, os.Mkdir(dir, 0o777))
	hundred(b, dir)
	o := start(b, Options{Pairs: 8}, dir)
	o.wait(b, "judged", func(st *State) bool { return st.Session.Misfits >= 0 })
	s := o.bench.current()
	file := s.tracks[17].Profile.File
	n := 0
	for b.Loop() {
		n++
		require.NoError(b, s.act(Act{Do: "move", Tracks: []string{file}, Pair: n%8 + 1}))
		o.bench.state()
	}
}

// hundred links the tracks of the song until there are a hundred, named apart.
func hundred(t testing.TB, dir string) {
	t.Helper()
	from := songFolder(t)
	paths, _, err := features.Find(from)
	require.NoError(t, err)
	for n := range 100 {
		p := paths[n%len(paths)]
		if strings.Contains(p, "Spare") { // silence takes no part
			p = paths[0]
		}
		name := strings.TrimSuffix(filepath.Base(p), ".wav")
		copyAt(t, p, filepath.Join(dir, fmt.Sprintf("%s %02d.wav", name, n)), 1-0.005*float32(n))
	}
}

// copyAt copies a track at another gain: two files that are equal would be one track.
func copyAt(t testing.TB, from, to string, gain float32) {
	t.Helper()
	r, err := wavfile.Open(from)
	require.NoError(t, err)
	defer r.Close()
	w, err := wavfile.Create(to, wavfile.Format{SampleRateHz: r.Info().SampleRateHz, Channels: r.Info().Channels, Encoding: wavfile.PCM24}, false)
	require.NoError(t, err)
	planes := make([][]float32, r.Info().Channels)
	for ch := range planes {
		planes[ch] = make([]float32, 8192)
	}
	for {
		n, err := r.Read(planes)
		part := make([][]float32, len(planes))
		for ch := range planes {
			part[ch] = planes[ch][:n]
			for i := range part[ch] {
				part[ch][i] *= gain
			}
		}
		if n > 0 {
			require.NoError(t, w.Write(part))
		}
		if n == 0 || err != nil {
			require.NoError(t, w.Close())
			return
		}
	}
}

// busOf is the bus of a track, "" for none.
func busOf(v *View, file string) string {
	for _, l := range v.Lanes {
		for _, tr := range l.Tracks {
			if tr.File == file {
				return tr.Bus
			}
		}
	}
	return ""
}
