package stems

import (
	"context"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/testdata/underrace"
)

// song puts two pairs of quiet noise into a folder and opens them.
func song(t testing.TB, gainOfMono float64) *Session {
	dir := t.TempDir()
	put(t, dir,
		track{file: "a.wav", planes: noise(1, 2, rate, 0.3), encoding: wavfile.PCM24, ref: 48000},
		track{file: "b.wav", planes: noise(2, 1, rate, 0.3), encoding: wavfile.PCM24, ref: 48010},
		track{file: "c.wav", planes: noise(3, 2, rate, 0.3), encoding: wavfile.PCM24, ref: 48100})
	return open(t, sheetOf(dir, []string{"a.wav", "b.wav"}, nil, []string{"c.wav"}), Options{PanGain: gainOfMono})
}

func TestStemsAreNamedTimedAndOfOneLength(t *testing.T) {
	s := song(t, 0)
	w := write(t, s, WriteOptions{})
	require.Len(t, w.Stems, 2)
	assert.Equal(t, "Pair 1 Drums.wav", filepath.Base(w.Stems[0].Path))
	assert.Equal(t, "Pair 3 Keys.wav", filepath.Base(w.Stems[1].Path))
	assert.Contains(t, w.Notes, "pair 2 (Bass) is free: no file for it")
	for _, stem := range w.Stems {
		_, info := load(t, stem.Path)
		assert.EqualValues(t, rate+100, info.Frames)
		assert.Equal(t, []int{rate, 2, 24}, []int{info.SampleRateHz, info.Channels, info.BitDepth})
		require.NotNil(t, info.Bext)
		assert.EqualValues(t, 48000, info.Bext.TimeReference, "the earliest of the tracks")
		assert.Equal(t, "2024-03-09", info.Bext.OriginationDate)
		assert.Equal(t, "A=PCM,F=48000,W=24,M=stereo,T=foldout\r\n", info.Bext.CodingHistory, "EBU R 98-1999")
	}
	assert.True(t, w.Stems[0].Dithered, "a mono track at -3 dB has to be rounded")
	assert.False(t, w.Stems[1].Dithered, "the sum of 24-bit tracks has not")
	float := write(t, s, WriteOptions{Float: true})
	_, info := load(t, float.Stems[0].Path)
	assert.True(t, info.Float)
	assert.Equal(t, 32, info.BitDepth)
}

func TestNothingToRoundIsWrittenBitForBit(t *testing.T) {
	s := song(t, 1)
	w := write(t, s, WriteOptions{})
	for k, m := range []int{0, 2} {
		assert.False(t, w.Stems[k].Dithered)
		planes, _ := load(t, w.Stems[k].Path)
		want := summed(t, &s.Mixes[m])
		assert.Equal(t, want[:], planes)
	}
}

// Triangular dither of two steps' width makes the error of a 24-bit stem zero in the mean with a variance of 1/4 step^2,
// 1/12 of it the rounding and 1/6 the dither, whatever the signal, and uncorrelated with it and between pairs (Lipshitz,
// Wannamaker and Vanderkooy, JAES 40(5), 1992).
func TestDitherOfStemsIsTriangular(t *testing.T) {
	underrace.Skip(t)
	dir := t.TempDir()
	const frames = 4 * rate
	put(t, dir,
		track{file: "loud.wav", planes: sine(997, 0.5, 1, frames), encoding: wavfile.Float32},
		track{file: "tiny.wav", planes: sine(100, 0x1p-24, 1, frames), encoding: wavfile.Float32}, // half a step
		track{file: "zero.wav", planes: [][]float64{make([]float64, frames)}, encoding: wavfile.Float32})
	s := open(t, sheetOf(dir, []string{"loud.wav"}, []string{"tiny.wav"}, []string{"zero.wav"}), Options{})
	w := write(t, s, WriteOptions{Seed: 3})
	var errs [][]float64
	for k := range s.Mixes {
		want := summed(t, &s.Mixes[k])
		planes, _ := load(t, w.Stems[k].Path)
		for side := range want {
			e := make([]float64, frames)
			var mean, square, product float64
			for i, v := range planes[side] {
				e[i] = (v - want[side][i]) * (1 << 23)
				mean += e[i] / frames
				square += e[i] * e[i] / frames
				product += e[i] * want[side][i] / frames
				require.Less(t, math.Abs(e[i]), 1.5)
			}
			assert.InDelta(t, 0, mean, 6*0.5/math.Sqrt(frames), "six standard errors")
			assert.InDelta(t, 0.25, square, 0.003, "variance 1/12 + 1/6")
			assert.InDelta(t, 0, product, 6*0.5*0.36/math.Sqrt(frames), "uncorrelated with the signal")
			errs = append(errs, e)
		}
	}
	for i := range errs {
		for j := range i {
			var product float64
			for k, v := range errs[i] {
				product += v * errs[j][k] / frames
			}
			assert.InDelta(t, 0, product, 6*0.25/math.Sqrt(frames), "channels %d and %d are independent", i, j)
		}
	}
}

func TestTheSameSeedGivesTheSameFile(t *testing.T) {
	s := song(t, 0)
	a, _ := load(t, write(t, s, WriteOptions{Seed: 5}).Stems[0].Path)
	b, _ := load(t, write(t, s, WriteOptions{Seed: 5}).Stems[0].Path)
	c, _ := load(t, write(t, s, WriteOptions{Seed: 6}).Stems[0].Path)
	assert.Equal(t, a, b)
	assert.NotEqual(t, a, c)
}

func TestNothingIsClippedSilently(t *testing.T) {
	dir := t.TempDir()
	a, b := noise(1, 2, 2*rate, 0.01), noise(2, 2, 2*rate, 0.01)
	a[0][30000], b[0][30000] = 0.75, 0.5 // 1.25, 60 % and 40 % of it
	a[1][80000], b[1][80000] = -0.25, -1
	put(t, dir, track{file: "a.wav", planes: a, encoding: wavfile.PCM24}, track{file: "b.wav", planes: b, encoding: wavfile.PCM24})
	s := open(t, sheetOf(dir, []string{"a.wav", "b.wav"}), Options{})
	out := filepath.Join(t.TempDir(), "stems")
	_, err := s.Write(t.Context(), WriteOptions{Dir: out})
	var overs *OversError
	require.ErrorAs(t, err, &overs)
	for _, want := range []string{"Pair 1 Drums.wav", "+1.94 dBFS", "2 stretches", "0:00:00.625", "a.wav 60 %, b.wav 40 %", "0:00:01.666", "b.wav 80 %, a.wav 20 %", "--gain -2.0", "--bits float"} {
		assert.ErrorContains(t, err, want)
	}
	assert.NoDirExists(t, out, "nothing is left")
	// the gain it names fits, and a tenth of a decibel more does not
	w := write(t, s, WriteOptions{GainDB: overs.Fits})
	assert.InDelta(t, 20*math.Log10(1.25)-2, float64(w.Stems[0].PeakDBFS), 1e-9)
	_, err = s.Write(t.Context(), WriteOptions{Dir: out, GainDB: overs.Fits + 0.1})
	assert.ErrorAs(t, err, &overs)
	// float keeps everything and says so
	w = write(t, s, WriteOptions{Float: true})
	planes, _ := load(t, w.Stems[0].Path)
	assert.Equal(t, []float64{1.25, -1.25}, []float64{planes[0][30000], planes[1][80000]})
	assert.Contains(t, w.Notes[0], "+1.94 dBFS")
}

func TestFullScaleItselfFits(t *testing.T) {
	dir := t.TempDir()
	top := 1 - 0x1p-23
	put(t, dir, track{file: "a.wav", planes: [][]float64{{top, -1}, {-1, top}}, encoding: wavfile.PCM24})
	w := write(t, open(t, sheetOf(dir, []string{"a.wav"}), Options{}), WriteOptions{})
	planes, _ := load(t, w.Stems[0].Path)
	assert.Equal(t, [][]float64{{top, -1}, {-1, top}}, planes)
}

func TestExistingFilesAreKept(t *testing.T) {
	s := song(t, 0)
	out := t.TempDir()
	path := filepath.Join(out, "Pair 3 Keys.wav")
	require.NoError(t, os.WriteFile(path, []byte("mine"), 0o666))
	_, err := s.Write(t.Context(), WriteOptions{Dir: out})
	assert.ErrorContains(t, err, "Pair 3 Keys.wav; choose another folder or give --force")
	assert.Equal(t, []string{"Pair 3 Keys.wav"}, list(t, out))
	write(t, s, WriteOptions{Dir: out, Force: true})
	assert.Equal(t, []string{"Pair 1 Drums.wav", "Pair 3 Keys.wav"}, list(t, out))
	_, err = s.Write(t.Context(), WriteOptions{Dir: path})
	assert.ErrorContains(t, err, "is a file, not a folder")
}

func TestTracksAreNeverReplaced(t *testing.T) {
	dir := t.TempDir()
	name := FileName(1, 1, "Drums")
	put(t, dir, track{file: name, planes: noise(1, 2, 100, 0.1)})
	before, err := os.ReadFile(filepath.Join(dir, name))
	require.NoError(t, err)
	s := open(t, sheetOf(dir, []string{name}), Options{})
	_, err = s.Write(t.Context(), WriteOptions{Dir: dir, Force: true})
	assert.ErrorContains(t, err, "one of the files that are read")
	after, err := os.ReadFile(filepath.Join(dir, name))
	require.NoError(t, err)
	assert.Equal(t, before, after)
	// nor is the mix
	mix := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(mix, []byte("mix"), 0o666))
	_, err = s.Write(t.Context(), WriteOptions{Dir: filepath.Dir(mix), Force: true, Keep: []string{mix}})
	assert.ErrorContains(t, err, "one of the files that are read")
}

func TestCancellingLeavesNothing(t *testing.T) {
	s := song(t, 0)
	for _, existed := range []bool{false, true} {
		out := filepath.Join(t.TempDir(), "stems")
		if existed {
			require.NoError(t, os.Mkdir(out, 0o777))
		}
		ctx, cancel := context.WithCancel(t.Context())
		_, err := s.Write(ctx, WriteOptions{Dir: out, Progress: func(done, _ int64) {
			if done > BlockFrames {
				cancel()
			}
		}})
		assert.ErrorIs(t, err, context.Canceled)
		if existed {
			assert.Empty(t, list(t, out))
		} else {
			assert.NoDirExists(t, out)
		}
		cancel()
	}
}

func TestTrackThatVanishesOrChangesMeanwhileIsNamed(t *testing.T) {
	s := song(t, 0)
	put(t, s.Folder, track{file: "b.wav", planes: noise(1, 1, 50, 0.1)})
	out := filepath.Join(t.TempDir(), "stems")
	_, err := s.Write(t.Context(), WriteOptions{Dir: out})
	assert.ErrorContains(t, err, "b.wav has changed")
	require.NoError(t, os.Remove(filepath.Join(s.Folder, "b.wav")))
	_, err = s.Write(t.Context(), WriteOptions{Dir: out})
	assert.True(t, errors.Is(err, fs.ErrNotExist), err)
	assert.NoDirExists(t, out)
}

func TestGainOutOfRangeIsRefused(t *testing.T) {
	for _, gain := range []float64{math.NaN(), math.Inf(1), 101, -101} {
		_, err := song(t, 0).Write(t.Context(), WriteOptions{Dir: t.TempDir(), GainDB: gain})
		assert.ErrorContains(t, err, "want -100 to 100")
	}
}

func list(t testing.TB, dir string) []string {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	names := []string{}
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// A pair may be called as the file of one of its buses is.
func TestPairsAndBusesNeverShareAFile(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, 3000, 0.1)}, track{file: "b.wav", planes: noise(2, 2, 3000, 0.1)})
	doc := sheetOf(dir, []string{"a.wav", "b.wav"})
	doc.Pairs[0].Name = "Bus 1 DRUMS"
	doc.Pairs[0].Tracks[0].Bus, doc.Pairs[0].Tracks[1].Bus = "Drums", "Bass"
	out := t.TempDir()
	w := write(t, open(t, doc, Options{}), WriteOptions{Dir: out, Buses: true, Force: true})
	require.Len(t, w.Stems, 3)
	for _, stem := range w.Stems {
		assert.FileExists(t, stem.Path)
	}
	assert.Equal(t, []string{"Pair 1 Bus 1 DRUMS.wav", "Pair 1 Bus 1 Drums (2).wav", "Pair 1 Bus 2 Bass.wav"}, list(t, out))
	assert.Equal(t, "Pair 1 Bus 1 DRUMS.wav", filepath.Base(w.Stems[0].Path), "the pair keeps its name")
}

func TestStemsNeverLandAmongTheTracks(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, 3000, 0.1)}, track{file: "sub/b.wav", planes: noise(2, 2, 3000, 0.1)})
	s := open(t, sheetOf(dir, []string{"a.wav", "sub/b.wav"}), Options{})
	link := filepath.Join(t.TempDir(), "link")
	require.NoError(t, os.Symlink(dir, link))
	for _, out := range []string{dir, filepath.Join(dir, "sub", ".."), filepath.Join(dir, "sub"), link} {
		_, err := s.Write(t.Context(), WriteOptions{Dir: out, Force: true})
		assert.ErrorContains(t, err, "holds the tracks that are read", out)
	}
	assert.Equal(t, []string{"a.wav", "sub"}, list(t, dir))
	write(t, s, WriteOptions{Dir: filepath.Join(dir, "stems")})
}

func TestOneTrackUnderTwoNamesIsNotSummedTwice(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, 3000, 0.1)})
	require.NoError(t, os.Symlink("a.wav", filepath.Join(dir, "b.wav")))
	for _, alias := range []string{"./a.wav", "b.wav"} {
		_, err := Open(sheetOf(dir, []string{"a.wav", alias}), Options{})
		assert.ErrorContains(t, err, "are one file", alias)
	}
}
