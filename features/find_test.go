package features

import (
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func touch(t *testing.T, root string, names ...string) {
	t.Helper()
	for _, name := range names {
		path := filepath.Join(root, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, nil, 0o644))
	}
}

func below(t *testing.T, root string, paths []string) []string {
	t.Helper()
	var out []string
	for _, p := range paths {
		rel, err := filepath.Rel(root, p)
		require.NoError(t, err)
		out = append(out, filepath.ToSlash(rel))
	}
	return out
}

func TestFindListsWaveFilesInNaturalOrder(t *testing.T) {
	root := t.TempDir()
	touch(t, root, "10 Vox.wav", "2 Snare.WAV", "1 Kick.wav", "bus/3.Wav", "notes.txt", "mix.mp3", "11 Harp.flac", "12 Oboe.aif", "13 Bell.AIFF", "14 Gong.aifc", "15 Duo.wave",
		"._1 Kick.wav", ".hidden/4.wav", "bus/deep/er/9.wav")
	files, skipped, err := Find(root)
	require.NoError(t, err)
	assert.Equal(t, []string{"1 Kick.wav", "2 Snare.WAV", "10 Vox.wav", "11 Harp.flac", "12 Oboe.aif", "13 Bell.AIFF", "14 Gong.aifc", "15 Duo.wave", "bus/3.Wav", "bus/deep/er/9.wav"}, below(t, root, files))
	assert.Equal(t, []string{"._1 Kick.wav", "mix.mp3", "notes.txt"}, below(t, root, skipped))
}

func TestFindSaysWhatItSkipped(t *testing.T) {
	root := t.TempDir()
	touch(t, root, "a.mp3", "b.aac")
	files, skipped, err := Find(root)
	require.NoError(t, err)
	assert.Empty(t, files)
	assert.Equal(t, []string{"a.mp3", "b.aac"}, below(t, root, skipped))
}

func TestFindRefusesWhatIsNoFolder(t *testing.T) {
	root := t.TempDir()
	touch(t, root, "a.wav")
	_, _, err := Find(filepath.Join(root, "a.wav"))
	assert.ErrorContains(t, err, "is a file")
	_, _, err = Find(filepath.Join(root, "missing"))
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestFindIsSafeWithLinks(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("links need a privilege here")
	}
	root, elsewhere := t.TempDir(), t.TempDir()
	touch(t, root, "1.wav", "sub/2.wav")
	touch(t, elsewhere, "3.wav")
	require.NoError(t, os.Symlink(root, filepath.Join(root, "sub", "loop")))
	require.NoError(t, os.Symlink(filepath.Join(elsewhere, "3.wav"), filepath.Join(root, "3.wav")))
	require.NoError(t, os.Symlink(filepath.Join(elsewhere, "none.wav"), filepath.Join(root, "4.wav")))
	require.NoError(t, os.Symlink(elsewhere, filepath.Join(root, "5.wav")))
	files, skipped, err := Find(root)
	require.NoError(t, err)
	assert.Equal(t, []string{"1.wav", "3.wav", "sub/2.wav"}, below(t, root, files))
	assert.Equal(t, []string{"4.wav", "5.wav", "sub/loop"}, below(t, root, skipped))

	link := filepath.Join(t.TempDir(), "session")
	require.NoError(t, os.Symlink(root, link))
	files, _, err = Find(link)
	require.NoError(t, err)
	assert.Equal(t, []string{"1.wav", "3.wav", "sub/2.wav"}, below(t, link, files))
}

// Invented names in the order a person would put them.
func TestNaturalCompare(t *testing.T) {
	want := []string{
		"", "01", "1", "2 Kick", "10 Kick", "a/z", "a b", "A2", "a10", "a10b", "a99999999999999999999", "a100000000000000000000",
		"b", "Gitarre", "gitarre", "Überraschung",
	}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, NaturalCompare)
	assert.Equal(t, want, got)
	for i, a := range want {
		for j, b := range want {
			assert.Equal(t, sign(i-j), NaturalCompare(a, b), "%q %q", a, b)
		}
	}
}

func FuzzNaturalCompare(f *testing.F) {
	f.Add("01 Kick", "1 kick", "a/2")
	f.Add("\xff9", "é10", "É9")
	f.Fuzz(func(t *testing.T, a, b, c string) {
		assert.Equal(t, -NaturalCompare(b, a), NaturalCompare(a, b))
		assert.Equal(t, a == b, NaturalCompare(a, b) == 0)
		if NaturalCompare(a, b) < 0 && NaturalCompare(b, c) < 0 {
			assert.Negative(t, NaturalCompare(a, c))
		}
	})
}

// Every file that may have been meant as a track is named, with what to do.
func TestPassedOver(t *testing.T) {
	root := t.TempDir()
	touch(t, root, "kick.wav", "snare.mp3", "sub/vox.M4A", "notes.txt", "cover.jpg", "beat.mid", "song.session", "bass.caf", "README")
	require.NoError(t, os.MkdirAll(filepath.Join(root, "empty.wav"), 0o755))
	touch(t, root, ".vox.flac", ".DS_Store", ".git/tom.wav", "._not a shadow.wav")
	for _, name := range []string{"._kick.wav", "sub/._vox.aif"} { // the signature of AppleDouble, RFC 1740
		require.NoError(t, os.WriteFile(filepath.Join(root, filepath.FromSlash(name)), []byte("\x00\x05\x16\x07\x00\x02\x00\x00Mac OS X"), 0o644))
	}
	want := []string{
		".vox.flac: passed over: a hidden file, as its name begins with a dot; rename it if it is a track",
		"._not a shadow.wav: passed over: a hidden file, as its name begins with a dot; rename it if it is a track",
		"._kick.wav and 1 more: passed over: shadow files of macOS, without sound",
		"bass.caf: passed over: CAF is not read; export the track as WAV, AIFF or FLAC",
		"beat.mid: passed over: MIDI (notes, no sound) is not read; export the track as WAV, AIFF or FLAC",
		"README: passed over: not a name of an audio file; if it is a track, export it as WAV, AIFF or FLAC",
		"snare.mp3: passed over: MP3 is not read; export the track as WAV, AIFF or FLAC",
		"song.session: passed over: not a name of an audio file; if it is a track, export it as WAV, AIFF or FLAC",
	}
	if runtime.GOOS != "windows" {
		require.NoError(t, os.Symlink(filepath.Join(root, "gone.wav"), filepath.Join(root, "zz.wav")))
		require.NoError(t, os.Symlink(t.TempDir(), filepath.Join(root, "zzz.wav")))
		want = append(want, "zz.wav: passed over: a link that leads nowhere; mend it or copy the file here",
			"zzz.wav: passed over: a link to a folder; what is in it is not looked at, copy the tracks here")
	}
	want = append(want, "sub/vox.M4A: passed over: AAC or ALAC in MP4 is not read; export the track as WAV, AIFF or FLAC")
	_, skipped, err := Find(root)
	require.NoError(t, err)
	assert.ElementsMatch(t, want, PassedOver(root, skipped))
}
