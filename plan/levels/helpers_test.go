package levels

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

const rate = 48000

// put writes a float file into a folder.
func put(t testing.TB, dir, file string, planes ...[]float64) {
	t.Helper()
	w, err := wavfile.Create(filepath.Join(dir, file), wavfile.Format{SampleRateHz: rate, Channels: len(planes), Encoding: wavfile.Float32}, true)
	require.NoError(t, err)
	require.NoError(t, w.WriteFloat64(planes))
	require.NoError(t, w.Close())
}

func sheetOf(dir string, pairs ...[]string) *sheet.Sheet {
	s := &sheet.Sheet{Schema: sheet.SchemaVersion, Title: "Test", Folder: dir, Settings: sheet.Settings{Pairs: len(pairs)}}
	for n, files := range pairs {
		p := sheet.Pair{Name: string(rune('A' + n)), Outputs: [2]int{2*n + 1, 2*n + 2}}
		for _, f := range files {
			p.Tracks = append(p.Tracks, sheet.Placement{File: f, Bus: "Bus"})
		}
		s.Pairs = append(s.Pairs, p)
	}
	return s
}

func measure(t testing.TB, s *sheet.Sheet, r *rig.Rig) *Levels {
	t.Helper()
	l, err := Measure(t.Context(), s, r, Options{})
	require.NoError(t, err)
	return l
}

// tone is a sine with its peak in dBFS.
func tone(hz, dbfs, seconds float64) []float64 {
	out := make([]float64, int(seconds*rate))
	for i := range out {
		out[i] = math.Pow(10, dbfs/20) * math.Sin(2*math.Pi*hz*float64(i)/rate)
	}
	return out
}

func noise(seed uint64, peak, seconds float64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	out := make([]float64, int(seconds*rate))
	for i := range out {
		out[i] = peak * (2*r.Float64() - 1)
	}
	return out
}

func times(x []float64, gain float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = gain * v
	}
	return out
}

// aligned is a plain rig with another alignment.
func aligned(pairs int, dbfs, dbu float64) *rig.Rig {
	r := rig.Plain(pairs)
	r.Alignment = rig.Alignment{DBFS: dbfs, DBu: dbu}
	r.Interfaces[0].FullScaleDBu = r.Alignment.FullScaleDBu()
	r.Summing.OperatingDBu = dbu
	return r
}
