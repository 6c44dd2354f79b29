package ears_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/examples/demo"
	"foldout/features/timbre"
	"foldout/testdata/rolemodel/changes"
	"foldout/testdata/rolemodel/lab"
)

const keptVectors = "../../testdata/rolemodel/vectors"

// What a track is does not depend on silence before, after or between, on gain, polarity or rate, and seldom on which half
// of it is heard: ten seconds of a part can be other music than the ten before. Which family a track belongs to is not asked here, only
// that it stays. 99 % is what was wished for. The material is the demo song, measured from sound.
func TestTheFamilyStaysWhenOnlyTheFileChanges(t *testing.T) {
	if testing.Short() {
		t.Skip("performs the demo song and measures it ten times")
	}
	dir := t.TempDir()
	require.NoError(t, demo.Render(t.Context(), dir, nil))
	paths, err := filepath.Glob(filepath.Join(dir, "*.wav"))
	require.NoError(t, err)
	set, err := lab.Read(keptVectors)
	require.NoError(t, err)
	var tracks []changes.Track
	for _, path := range paths {
		planes, rate, err := changes.ReadWAV(path)
		require.NoError(t, err)
		k := changes.Track{File: filepath.Base(path)}
		if k.Plain, k.Changed = changes.Measure(changes.Loudest(planes, 20*rate), rate); k.Plain != nil {
			tracks = append(tracks, k)
		}
	}
	require.Greater(t, len(tracks), 30)
	y := changes.Sum(tracks, set.Spread)
	for _, m := range y.Lost {
		t.Log(m)
	}
	familyStays(t, y, 0.99, 0.85)
	elementsStay(t, y)
}

func familyStays(t *testing.T, y *changes.Tally, file, half float64) {
	stayed, of := y.OfFile()
	assert.GreaterOrEqual(t, float64(stayed)/float64(of), file, "%d of %d changes of the file", stayed, of)
	t.Logf("%d of %d changes of the file", stayed, of)
	stayed, of = y.OfHalves()
	assert.GreaterOrEqual(t, float64(stayed)/float64(of), half, "%d of %d halves", stayed, of)
	t.Logf("%d of %d halves", stayed, of)
}

// elementsStay asks of every element of the vector that a change of the file leaves it where it was. The elements that move are
// those of beginnings: a stretch cut out of a song and put behind silence begins where the song did not.
func elementsStay(t *testing.T, y *changes.Tally) {
	for _, c := range changes.All {
		moved, tracks := y.Moved(c.Name)
		if c.Half || tracks == 0 {
			continue
		}
		total := 0
		for e, n := range moved {
			total += n
			if c.Name == "12 dB lower" || c.Name == "other polarity" {
				assert.Zero(t, n, "%s: %s", c.Name, timbre.Names[e])
			}
			assert.LessOrEqual(t, n, 2*tracks/3, "%s: %s", c.Name, timbre.Names[e])
		}
		assert.LessOrEqual(t, float64(total)/float64(tracks*len(moved)), 0.04, "%s: %d elements of %d tracks moved by more than half a spread", c.Name, total, tracks)
	}
}

// The same over labelled material, as it was measured from sound and kept: whole tracks of rendered sessions, of recorded notes, of
// stems and of real songs.
func TestTheFamilyStaysOnLabelledMaterial(t *testing.T) {
	tracks, spread, err := changes.Read(filepath.Join(keptVectors, changes.File))
	require.NoError(t, err)
	require.Greater(t, len(tracks), 1000)
	familyStays(t, changes.Sum(tracks, spread), 0.99, 0.95)
}

func TestKeptChangesComeBack(t *testing.T) {
	set, err := lab.Read(keptVectors)
	require.NoError(t, err)
	vector := func(z float64) []float32 {
		v := make([]float32, len(set.Spread))
		for e := range v {
			v[e] = float32(set.Centre[e] + z*float64(e%5-2)*set.Spread[e]/40)
		}
		return v
	}
	want := []changes.Track{
		{Body: "a", File: "one, two.wav", Family: "bass", Plain: vector(1), Changed: map[string][]float32{"first half": vector(60), "96 kHz": vector(-60)}},
		{Body: "b", File: "three.wav", Family: "perc", Plain: vector(0), Changed: map[string][]float32{}},
	}
	path := filepath.Join(t.TempDir(), "kept.gz")
	require.NoError(t, changes.Write(path, want, set))
	got, spread, err := changes.Read(path)
	require.NoError(t, err)
	assert.Equal(t, set.Spread, spread)
	require.Len(t, got, 2)
	for i := range want {
		assert.Equal(t, want[i].File, got[i].File)
		require.Len(t, got[i].Changed, len(want[i].Changed))
		want[i].Changed["plain"], got[i].Changed["plain"] = want[i].Plain, got[i].Plain
		for name, v := range want[i].Changed {
			for e := range v {
				assert.InDelta(t, v[e], got[i].Changed[name][e], 1e-3*set.Spread[e], "%s: %s", name, timbre.Names[e])
			}
		}
	}
	require.NoError(t, os.WriteFile(path, []byte("no gzip"), 0o644))
	_, _, err = changes.Read(path)
	assert.ErrorContains(t, err, path)
}
