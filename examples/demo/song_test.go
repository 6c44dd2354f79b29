package demo

import (
	"context"
	"crypto/sha256"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/plan/fold"
)

// within are limits for a measured figure.
type within struct{ lo, hi float64 }

func (w within) holds(v float64) bool { return v >= w.lo && v <= w.hi }

// expected is what an engineer expects of each track: power centroid in hertz, crest factor in decibels, the octave
// bands in which it may be strongest, and the four families a mix is folded to. All common practice, no source: kick
// body 40 to 100 Hz, snare body 150 to 250 Hz and wires up to 10 kHz, toms 60 to 200 Hz, cymbals mostly 3 to 16 kHz; electric guitars
// are dense, drums are peaky.
var expected = map[string]struct {
	centroidHz, crestDB within
	strongest           string
	family              string
}{
	"01 Kick In":        {within{45, 300}, within{12, 26}, "63", "rhythm"},
	"02 Snare Top":      {within{300, 3000}, within{16, 28}, "250", "rhythm"},
	"03 Snare Bottom":   {within{2000, 8000}, within{16, 28}, "4000 8000", "rhythm"},
	"04 Hi-Hat":         {within{3000, 12000}, within{14, 28}, "4000 8000 16000", "rhythm"},
	"05 Rack Tom":       {within{100, 1200}, within{14, 28}, "125", "rhythm"},
	"06 Floor Tom":      {within{60, 800}, within{14, 28}, "63", "rhythm"},
	"07 OH L":           {within{800, 7000}, within{12, 26}, "125 250 2000 4000 8000", "rhythm"},
	"08 OH R":           {within{800, 7000}, within{12, 26}, "125 250 2000 4000 8000", "rhythm"},
	"09 Room":           {within{300, 5000}, within{10, 24}, "125 250 2000 4000", "rhythm"},
	"10 Drums Parallel": {within{300, 5000}, within{6, 18}, "63 125 250 2000 4000", "rhythm"},
	"11 Shaker":         {within{4000, 12000}, within{15, 26}, "4000 8000", "rhythm"},
	"12 Tambourine":     {within{5000, 13000}, within{15, 28}, "8000 16000", "rhythm"},
	"13 Bass DI":        {within{60, 600}, within{8, 20}, "31.5 63 125", "rhythm"},
	"14 Bass Amp":       {within{60, 600}, within{6, 18}, "63 125", "rhythm"},
	"15 E Gtr L":        {within{400, 3000}, within{6, 16}, "125 250 500 1000 2000", "guitars"},
	"16 E Gtr R":        {within{400, 3000}, within{6, 16}, "125 250 500 1000 2000", "guitars"},
	"17 Lead Gtr":       {within{500, 3000}, within{5, 15}, "500 1000 2000", "guitars"},
	"18 Acoustic Gtr":   {within{250, 3000}, within{10, 22}, "125 250 500 1000", "guitars"},
	"19 Piano":          {within{200, 2000}, within{10, 22}, "125 250 500 1000", "keys and horns"},
	"20 Organ":          {within{200, 2000}, within{6, 16}, "125 250 500 1000", "keys and horns"},
	"21 Pad":            {within{150, 2000}, within{6, 18}, "125 250 500", "keys and horns"},
	"22 Trumpet":        {within{700, 3500}, within{8, 18}, "500 1000 2000", "keys and horns"},
	"23 Sax":            {within{400, 2500}, within{8, 18}, "500 1000", "keys and horns"},
	"24 Trombone":       {within{300, 2000}, within{8, 18}, "250 500 1000", "keys and horns"},
	"25 Lead Vox":       {within{500, 2500}, within{9, 20}, "500 1000", "voices"},
	"26 BV 1 High":      {within{350, 2500}, within{8, 20}, "250 500 1000", "voices"},
	"27 BV 2 High":      {within{350, 2500}, within{8, 20}, "250 500 1000", "voices"},
	"28 BV 3 Mid":       {within{350, 2500}, within{8, 20}, "250 500 1000", "voices"},
	"29 BV 4 Mid":       {within{300, 2500}, within{8, 20}, "250 500 1000", "voices"},
	"30 BV 5 Low":       {within{200, 2500}, within{8, 20}, "125 250 500", "voices"},
	"31 BV 6 Low":       {within{200, 2500}, within{8, 20}, "125 250 500", "voices"},
	"32 Vox Plate":      {within{350, 3000}, within{8, 20}, "500 1000", "voices"},
}

// The whole recording, seen from outside: it is made once, and looked at in every way that needs all of it.
func TestSongIsWhatItsNamesSay(t *testing.T) {
	if testing.Short() {
		t.Skip("performs the whole song")
	}
	dir := t.TempDir()
	last := 0
	require.NoError(t, Render(context.Background(), dir, func(done, total int) {
		assert.Equal(t, last+1, done)
		assert.Equal(t, len(Song.Tracks), total)
		last = done
	}))
	assert.Equal(t, len(Song.Tracks), last)
	paths, skipped, err := features.Find(dir)
	require.NoError(t, err)
	assert.Empty(t, skipped)
	require.Len(t, paths, len(Song.Tracks))
	results, err := features.MeasureAll(context.Background(), paths, features.Options{WithSketch: true, Folder: dir})
	require.NoError(t, err)
	var all []*features.Analysis
	for i, r := range results {
		require.NoError(t, r.Err)
		all = append(all, r.Analysis)
		checkTrack(t, Song.Tracks[i], &r.Analysis.Profile)
	}

	t.Run("the same again, with other neighbours", func(t *testing.T) {
		again := t.TempDir()
		few := []Track{Song.Tracks[12], Song.Tracks[21], Song.Tracks[1], Song.Tracks[13], Song.Tracks[17], Song.Tracks[25]}
		require.NoError(t, renderTracks(context.Background(), again, few, nil))
		for _, f := range few {
			assert.Equal(t, hashOf(t, filepath.Join(dir, f.File)), hashOf(t, filepath.Join(again, f.File)), f.File)
		}
	})
	t.Run("no partial lies below the instrument", func(t *testing.T) { checkLowest(t, dir) })
	t.Run("with names, four pairs are the trade's four", func(t *testing.T) {
		assert.Equal(t, 32, rightPlaces(t, dir, all, fold.Options{Pairs: 4, Seed: 1}))
	})
	t.Run("with names, eight pairs cut no family across", func(t *testing.T) {
		assert.Equal(t, 32, rightPlaces(t, dir, all, fold.Options{Pairs: 8, Seed: 1}))
	})
	t.Run("by ear, four of five", func(t *testing.T) { // invented: what a listener without the labels should reach
		right := rightPlaces(t, dir, all, fold.Options{Pairs: 4, Seed: 1, EarsOnly: true})
		t.Logf("%d of 32 by ear", right)
		assert.GreaterOrEqual(t, right, 26)
	})
}

func checkTrack(t *testing.T, track Track, p *features.Profile) {
	t.Run(track.File, func(t *testing.T) {
		assert.Equal(t, track.File, p.File)
		assert.Equal(t, rate, p.SampleRateHz)
		assert.Equal(t, 24, p.BitDepth)
		assert.Equal(t, track.Channels, p.Channels)
		assert.EqualValues(t, lengthS*rate, p.Frames, "all tracks have one length")
		assert.Zero(t, p.ClippedRuns)
		assert.Less(t, p.DCOffset, 1e-4)
		assert.Contains(t, p.Description, Song.Title)
		assert.Equal(t, track.Silent, p.Silent)
		if track.Silent {
			return
		}
		assert.InDelta(t, track.PeakDBFS, float64(p.SamplePeakDBFS), 0.05)
		assert.Less(t, float64(p.TruePeakDBTP), -1.0)
		want, ok := expected[strings.TrimSuffix(track.File, ".wav")]
		require.True(t, ok, "nothing is expected of this track")
		assert.Truef(t, want.centroidHz.holds(float64(p.CentroidHz)), "centroid %.0f Hz, want %v", p.CentroidHz, want.centroidHz)
		assert.Truef(t, want.crestDB.holds(float64(p.CrestDB)), "crest factor %.1f dB, want %v", p.CrestDB, want.crestDB)
		strongest := 0
		for i, level := range p.OctaveDB {
			if level > p.OctaveDB[strongest] {
				strongest = i
			}
		}
		assert.Contains(t, strings.Fields(want.strongest), features.BandNames[strongest], "strongest octave band")
		if strings.Contains(track.Instrument, "electric guitar") {
			assert.Less(t, float64(p.OctaveDB[8]), -20.0, "a guitar loudspeaker gives little above 5 to 6 kHz")
			assert.Less(t, float64(p.OctaveDB[9]), -45.0)
		}
	})
}

// rightPlaces folds the tracks and counts those that share a pair whose majority is of their family.
func rightPlaces(t *testing.T, dir string, all []*features.Analysis, opt fold.Options) int {
	session, err := fold.Prepare(dir, all, opt)
	require.NoError(t, err)
	sheet, err := session.Suggest()
	require.NoError(t, err)
	require.Len(t, sheet.SetAside, 1)
	assert.Equal(t, "33 Spare.wav", sheet.SetAside[0].File)
	right := 0
	families := map[string]bool{}
	for _, pair := range sheet.Pairs {
		count := map[string]int{}
		for _, track := range pair.Tracks {
			count[expected[strings.TrimSuffix(track.File, ".wav")].family]++
		}
		most := ""
		for family, n := range count {
			if n > count[most] {
				most = family
			}
		}
		families[most] = true
		right += count[most]
		if len(count) > 1 {
			t.Logf("%s holds %v", pair.Name, count)
		}
	}
	if !opt.EarsOnly {
		assert.Len(t, families, 4, "every family has a pair")
	}
	return right
}

func hashOf(t *testing.T, path string) [32]byte {
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return sha256.Sum256(b)
}

func TestRenderRefuses(t *testing.T) {
	quick := []Track{Song.Tracks[12], Song.Tracks[32]}
	t.Run("a folder that is not there", func(t *testing.T) {
		assert.Error(t, Render(context.Background(), filepath.Join(t.TempDir(), "none"), nil))
	})
	t.Run("a file instead of a folder", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "file")
		require.NoError(t, os.WriteFile(path, []byte("mine"), 0o600))
		assert.ErrorContains(t, Render(context.Background(), path, nil), "want a folder")
	})
	t.Run("to replace a file", func(t *testing.T) {
		dir := t.TempDir()
		path := filepath.Join(dir, quick[0].File)
		require.NoError(t, os.WriteFile(path, []byte("mine"), 0o600))
		assert.ErrorIs(t, renderTracks(context.Background(), dir, quick, nil), os.ErrExist)
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, "mine", string(b))
	})
	t.Run("to go on when cancelled", func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		dir := t.TempDir()
		assert.ErrorIs(t, Render(ctx, dir, nil), context.Canceled)
		entries, err := os.ReadDir(dir)
		require.NoError(t, err)
		assert.Empty(t, entries)
	})
}

func TestTracksShareTheirSources(t *testing.T) {
	dir := t.TempDir()
	shared := []Track{Song.Tracks[12], Song.Tracks[13], Song.Tracks[32]} // direct, amplifier, nothing
	require.NoError(t, renderTracks(context.Background(), dir, shared, nil))
	for _, track := range shared {
		assert.FileExists(t, filepath.Join(dir, track.File))
	}
}
