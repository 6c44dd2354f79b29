package stems

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/roles"
	"foldout/plan/sheet"
)

const rate = 48000

// track is a file to be made for a test.
type track struct {
	file     string
	planes   [][]float64
	rate     int // 0 for 48 kHz
	encoding wavfile.Encoding
	ref      int64 // time reference, with bext
	bext     bool
}

// put writes tracks into a folder.
func put(t testing.TB, dir string, tracks ...track) {
	t.Helper()
	for _, tr := range tracks {
		if tr.rate == 0 {
			tr.rate = rate
		}
		path := filepath.Join(dir, filepath.FromSlash(tr.file))
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o777))
		f := wavfile.Format{SampleRateHz: tr.rate, Channels: len(tr.planes), Encoding: tr.encoding}
		if tr.bext || tr.ref != 0 {
			f.Bext = &wavfile.Bext{TimeReference: tr.ref, OriginationDate: "2024-03-09", OriginationTime: "10:11:12"}
		}
		w, err := wavfile.Create(path, f, true)
		require.NoError(t, err)
		require.NoError(t, w.WriteFloat64(tr.planes))
		require.NoError(t, w.Close())
	}
}

// sheet puts files on pairs; each track is its own bus unless the name has the form "bus/file".
func sheetOf(dir string, pairs ...[]string) *sheet.Sheet {
	s := &sheet.Sheet{Schema: sheet.SchemaVersion, Title: "Test", Folder: dir, Settings: sheet.Settings{Pairs: len(pairs), Seed: 7}}
	names := []string{"Drums", "Bass", "Keys", "Vocals"}
	for n, files := range pairs {
		p := sheet.Pair{Name: names[n%len(names)], Outputs: [2]int{2*n + 1, 2*n + 2}}
		for _, f := range files {
			p.Tracks = append(p.Tracks, sheet.Placement{File: f, Bus: "Bus " + f[:1]})
		}
		s.Pairs = append(s.Pairs, p)
	}
	return s
}

func open(t testing.TB, s *sheet.Sheet, opt Options) *Session {
	t.Helper()
	roles.Halves(s)
	session, err := Open(s, opt)
	require.NoError(t, err)
	return session
}

// noise is white noise on the grid of 24 bits, so that every encoding from 24 bits up holds it exactly.
func noise(seed uint64, channels, frames int, peak float64) [][]float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	planes := make([][]float64, channels)
	for c := range planes {
		planes[c] = make([]float64, frames)
		for i := range planes[c] {
			planes[c][i] = math.Round(peak*(2*r.Float64()-1)*(1<<23)) / (1 << 23)
		}
	}
	return planes
}

func sine(hz, peak float64, channels, frames int) [][]float64 {
	planes := make([][]float64, channels)
	for c := range planes {
		planes[c] = make([]float64, frames)
		for i := range planes[c] {
			planes[c][i] = peak * math.Sin(2*math.Pi*hz*float64(i)/rate)
		}
	}
	return planes
}

// load reads a whole file in double precision.
func load(t testing.TB, path string) ([][]float64, wavfile.Info) {
	t.Helper()
	r, err := wavfile.Open(path)
	require.NoError(t, err)
	defer func() { require.NoError(t, r.Close()) }()
	info := r.Info()
	planes := make([][]float64, info.Channels)
	for c := range planes {
		planes[c] = make([]float64, info.Frames)
	}
	n, err := r.ReadFloat64(planes)
	require.NoError(t, err)
	require.EqualValues(t, info.Frames, n)
	return planes, info
}

// summed reads a whole mix.
func summed(t testing.TB, m *Mix) [2][]float64 {
	t.Helper()
	s, err := m.Open()
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	var out [2][]float64
	block := [2][]float64{make([]float64, BlockFrames), make([]float64, BlockFrames)}
	for {
		n, err := s.Read(block)
		if err != nil {
			require.EqualError(t, err, "EOF")
			return out
		}
		for side := range out {
			out[side] = append(out[side], block[side][:n]...)
		}
	}
}

// write writes stems into a fresh folder.
func write(t testing.TB, s *Session, opt WriteOptions) *Written {
	t.Helper()
	if opt.Dir == "" {
		opt.Dir = filepath.Join(t.TempDir(), "stems")
	}
	w, err := s.Write(t.Context(), opt)
	require.NoError(t, err)
	return w
}
