package stems

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
)

// Centred mono tracks reach each side with the gain of the pan law: constant power 10^(-3.0103/20) = sqrt(1/2), linear
// 1/2, the usual compromise between them 2^-0.75 (common practice, no source).
func TestPanLawSetsWhatCentredMonoTracksReach(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "vox.wav", planes: [][]float64{{0.5, -0.25, 0.125}}})
	for _, c := range []struct {
		law        string
		gain, want float64
	}{
		{"default, -3 dB", 0, math.Sqrt(0.5)},
		{"-3 dB", math.Sqrt(0.5), math.Sqrt(0.5)},
		{"-4.5 dB", math.Pow(2, -0.75), math.Pow(2, -0.75)},
		{"-6 dB", 0.5, 0.5},
		{"0 dB", 1, 1},
	} {
		got := summed(t, &open(t, sheetOf(dir, []string{"vox.wav"}), Options{PanGain: c.gain}).Mixes[0])
		for side := range got {
			assert.Equal(t, []float64{0.5 * c.want, -0.25 * c.want, 0.125 * c.want}, got[side], c.law)
		}
	}
}

func TestSplitStereoSourcesGoToTheirSides(t *testing.T) {
	one := [][]float64{{0.5}}
	for _, c := range []struct {
		name  string
		files []string
		aside []string
		want  []Pan
		notes int
	}{
		{"both halves", []string{"OH L.wav", "OH R.wav"}, nil, []Pan{Left, Right}, 0},
		{"numbers may differ", []string{"12_OHL.wav", "13_OHR.wav"}, nil, []Pan{Left, Right}, 0},
		{"a half alone stays in the centre", []string{"Room R.wav", "Kick.wav"}, nil, []Pan{Centre, Centre}, 1},
		{"the other half was set aside", []string{"Piano L.wav", "Kick.wav"}, []string{"Piano R.wav"}, []Pan{Left, Centre}, 0},
		{"halves of different sources", []string{"Piano L.wav", "Organ R.wav"}, nil, []Pan{Centre, Centre}, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			for _, f := range append(append([]string{}, c.files...), c.aside...) {
				put(t, dir, track{file: f, planes: one})
			}
			s := sheetOf(dir, c.files)
			for _, f := range c.aside {
				s.SetAside = append(s.SetAside, sheet.SetAside{File: f})
			}
			session := open(t, s, Options{})
			var got []Pan
			for _, tr := range session.Mixes[0].Tracks {
				got = append(got, tr.Pan)
			}
			assert.Equal(t, c.want, got)
			assert.Len(t, session.Notes, c.notes)
		})
	}
	t.Run("a stereo file with a side in its name stays stereo", func(t *testing.T) {
		dir := t.TempDir()
		put(t, dir, track{file: "OH L.wav", planes: [][]float64{{0.5}, {0.25}}}, track{file: "OH R.wav", planes: one})
		session := open(t, sheetOf(dir, []string{"OH L.wav", "OH R.wav"}), Options{})
		assert.Equal(t, Stereo, session.Mixes[0].Tracks[0].Pan)
		assert.Equal(t, Centre, session.Mixes[0].Tracks[1].Pan)
	})
}

func TestWhatCannotBeSummedIsNamed(t *testing.T) {
	one, six, many := noise(1, 1, 100, 0.1), noise(1, 6, 100, 0.1), noise(1, 64, 100, 0.1)
	for _, c := range []struct {
		name   string
		tracks []track
		files  []string
		want   []string
	}{
		{"missing tracks", []track{{file: "a.wav", planes: one}}, []string{"a.wav", "b.wav", "sub/c.wav"}, []string{"missing from", "b.wav, sub/c.wav", "--folder"}},
		{"other rates", []track{{file: "a.wav", planes: one}, {file: "b.wav", planes: one}, {file: "c.wav", planes: one, rate: 44100}}, []string{"a.wav", "b.wav", "c.wav"},
			[]string{"2 of the tracks are at 48000 Hz", "44100 Hz: c.wav", "export all at one sample rate"}},
		{"six channels", []track{{file: "a.wav", planes: one}, {file: "surround.wav", planes: six}}, []string{"a.wav", "surround.wav"}, []string{"surround.wav has 6 channels", "stereo or mono"}},
		{"64 channels", []track{{file: "a.wav", planes: many}}, []string{"a.wav"}, []string{"a.wav has 64 channels"}},
		{"all faults at once", []track{{file: "b.wav", planes: six}, {file: "c.wav", planes: six}}, []string{"b.wav", "c.wav"}, []string{"b.wav has", "c.wav has"}},
		{"outside the folder", nil, []string{"../a.wav"}, []string{"../a.wav", "outside"}},
		{"an absolute path", nil, []string{"/etc/passwd"}, []string{"/etc/passwd", "outside"}},
		{"no tracks", nil, nil, []string{"no track on any pair"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			put(t, dir, c.tracks...)
			_, err := Open(sheetOf(dir, c.files), Options{})
			require.Error(t, err)
			for _, want := range c.want {
				assert.ErrorContains(t, err, want)
			}
		})
	}
	t.Run("no WAV", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "a.wav"), []byte("fLaC, not a WAV file"), 0o666))
		_, err := Open(sheetOf(dir, []string{"a.wav"}), Options{})
		assert.ErrorContains(t, err, "a.wav")
	})
	t.Run("the folder has gone", func(t *testing.T) {
		_, err := Open(sheetOf(filepath.Join(t.TempDir(), "gone"), []string{"a.wav"}), Options{})
		assert.ErrorContains(t, err, "--folder")
	})
	t.Run("no sheet", func(t *testing.T) {
		_, err := Open(nil, Options{})
		assert.Error(t, err)
	})
	t.Run("pan gain beyond full level", func(t *testing.T) {
		_, err := Open(sheetOf(t.TempDir(), []string{"a.wav"}), Options{PanGain: 1.5})
		assert.ErrorContains(t, err, "pan gain")
	})
}

func TestFolderThatMovedIsGivenAnew(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "sub/a.wav", planes: [][]float64{{0.5}, {0.25}}})
	session := open(t, sheetOf("/nowhere", []string{"sub/a.wav"}), Options{Folder: dir})
	assert.Equal(t, [2][]float64{{0.5}, {0.25}}, summed(t, &session.Mixes[0]))
}
