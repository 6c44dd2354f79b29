package workbench

import (
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/sheet"
)

// A copy of a track whose front is missing is lined up when the folder is opened, is summed from there, and is whole again
// when it is exported anew with its front. How much is missing is known by construction.
func TestAFileThatBeginsLate(t *testing.T) {
	const cut = 48000*3 + 417
	dir := songFolder(t)
	from, to := filepath.Join(dir, "Lead Vox.wav"), filepath.Join(dir, "Lead Vox Dry.wav")
	without(t, from, to, cut)
	o := start(t, Options{}, dir)
	s := o.bench.current()
	starts := func() []sheet.Offset {
		s.mu.Lock()
		defer s.mu.Unlock()
		return s.doc.Settings.Offsets
	}
	assert.Equal(t, []sheet.Offset{{File: "Lead Vox Dry.wav", Start: cut}}, starts())
	for _, track := range s.tracks {
		if track.Profile.File == "Lead Vox Dry.wav" {
			assert.InDelta(t, float64(cut)/48000, track.Sketch.StartSeconds, 1e-9)
		}
	}
	without(t, from, to, 0)
	later := time.Now().Add(2 * time.Second)
	require.NoError(t, os.Chtimes(to, later, later))
	o.wait(t, "the change is noticed", func(st *State) bool { return st.Session.News != nil })
	assert.Empty(t, starts())
	o.post(t, "travel", map[string]int{"to": 0}, nil)
	assert.Empty(t, starts(), "no step back brings the old start again")
}

// without copies a file but for its first frames.
func without(t *testing.T, from, to string, frames int64) {
	t.Helper()
	r, err := wavfile.Open(from)
	require.NoError(t, err)
	defer func() { assert.NoError(t, r.Close()) }()
	require.NoError(t, r.SeekFrame(frames))
	x := make([]float32, r.Info().Frames-frames)
	n, err := r.Read([][]float32{x})
	require.True(t, err == nil || err == io.EOF, "%v", err)
	require.Len(t, x, n)
	w, err := wavfile.Create(to, wavfile.Format{SampleRateHz: 48000, Channels: 1, Encoding: wavfile.Float32}, true)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{x}))
	require.NoError(t, w.Close())
}

// What is passed over is named on the page as on the terminal.
func TestWhatIsPassedOverIsNamed(t *testing.T) {
	dir := songFolder(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "Loop.mp3"), []byte("ID3"), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "notes.txt"), nil, 0o666))
	o := start(t, Options{}, dir)
	assert.Equal(t, []string{"Loop.mp3: passed over: MP3 is not read; export the track as WAV, AIFF or FLAC"}, o.bench.state().Session.Faults)
}
