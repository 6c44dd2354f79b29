package stems

import (
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
)

// The sum of the stems is the sum of the tracks to the last bit: samples of 24 bits are multiples of 2^-23, so float64
// sums of them are exact in any order (IEEE 754), and float32 holds them exactly up to ±2. Stereo tracks, sides, and a
// pan law of 0 or -6 dB keep to the grid (-6 dB to half its step, which float32 holds below 1).
func TestSumOfFloatStemsIsSumOfTracksToTheLastBit(t *testing.T) {
	dir := t.TempDir()
	const frames = 3*BlockFrames + 517
	put(t, dir,
		track{file: "a.wav", planes: noise(1, 2, frames, 0.2), encoding: wavfile.PCM24},
		track{file: "b.wav", planes: noise(2, 2, frames-1000, 0.2), encoding: wavfile.PCM24, ref: 777},
		track{file: "oh L.wav", planes: noise(3, 1, frames, 0.2), encoding: wavfile.PCM24},
		track{file: "oh R.wav", planes: noise(4, 1, frames, 0.2), encoding: wavfile.Float32},
		track{file: "d.wav", planes: noise(5, 1, 99, 0.2), encoding: wavfile.PCM24, ref: 20000},
		track{file: "e.wav", planes: noise(6, 2, frames, 0.2), encoding: wavfile.PCM24, ref: 1},
	)
	for _, gain := range []float64{1, 0.5} {
		s := open(t, sheetOf(dir, []string{"a.wav", "oh L.wav", "d.wav"}, []string{"b.wav", "oh R.wav"}, []string{"e.wav"}), Options{PanGain: gain})
		var want, got [2][]float64
		for side := range want {
			want[side], got[side] = make([]float64, s.Frames), make([]float64, s.Frames)
		}
		s.each(func(tr *Track) {
			planes, _ := load(t, tr.Path)
			for side := range want {
				plane, g := planes[min(side, len(planes)-1)], 1.0
				switch tr.Pan {
				case Centre:
					g = gain
				case Left:
					g = float64(1 - side)
				case Right:
					g = float64(side)
				}
				for i, v := range plane {
					want[side][tr.Offset+int64(i)] += g * v
				}
			}
		})
		w := write(t, s, WriteOptions{Float: true})
		require.Len(t, w.Stems, 3)
		for _, stem := range w.Stems {
			planes, info := load(t, stem.Path)
			require.EqualValues(t, s.Frames, info.Frames, "all stems have one length")
			for side := range got {
				for i, v := range planes[side] {
					got[side][i] += v
				}
			}
		}
		assert.Equal(t, want, got)
	}
}

func TestWideSamplesKeepTheirPrecision(t *testing.T) {
	dir := t.TempDir()
	// a mono WAV file of 32-bit PCM: 1 + 2^-31 of half scale, which float32 cannot hold
	values := []int32{1<<30 + 1, -(1<<30 + 1)}
	file := []byte("RIFF\x2c\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x80\xbb\x00\x00\x00\xee\x02\x00\x04\x00\x20\x00data\x08\x00\x00\x00")
	for _, v := range values {
		file = binary.LittleEndian.AppendUint32(file, uint32(v))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "a.wav"), file, 0o666))
	s := open(t, sheetOf(dir, []string{"a.wav"}), Options{PanGain: 1})
	want := []float64{0.5 + 0x1p-31, -0.5 - 0x1p-31}
	assert.Equal(t, [2][]float64{want, want}, summed(t, &s.Mixes[0]))
	assert.False(t, s.Mixes[0].OnGrid())
}

// What is no sound is bounded, counted, and named on the sheet of the stems.
func TestNumbersThatAreNoneAreCounted(t *testing.T) {
	dir := t.TempDir()
	file := []byte("RIFF\x2c\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x03\x00\x01\x00\x80\xbb\x00\x00\x00\xee\x02\x00\x04\x00\x20\x00data\x10\x00\x00\x00")
	for _, v := range []float32{float32(math.NaN()), 0.5, -1e20, 1e30} { // the third is the largest that is taken for a sample
		file = binary.LittleEndian.AppendUint32(file, math.Float32bits(v))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "a.wav"), file, 0o666))
	s := open(t, sheetOf(dir, []string{"a.wav"}), Options{PanGain: 1})
	largest := float64(float32(-1e20))
	assert.Equal(t, [2][]float64{{0, 0.5, largest, 1}, {0, 0.5, largest, 1}}, summed(t, &s.Mixes[0]))
	w := write(t, s, WriteOptions{Float: true})
	assert.Contains(t, w.Notes, "a.wav: 1 sample is no number (NaN or infinite) and counts as silence; export the track again")
	assert.Contains(t, w.Notes, "a.wav: 1 sample lies more than 400 dB above full scale, taken as full scale; export the track again")
}

func TestReadingABlockAllocatesNothing(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, 40*BlockFrames, 0.2), encoding: wavfile.Float32}, track{file: "b.wav", planes: noise(2, 1, 40*BlockFrames, 0.2), encoding: wavfile.PCM24})
	s := open(t, sheetOf(dir, []string{"a.wav", "b.wav"}), Options{})
	sum, err := s.Mixes[0].Open()
	require.NoError(t, err)
	defer func() { require.NoError(t, sum.Close()) }()
	block := [2][]float64{make([]float64, BlockFrames), make([]float64, BlockFrames)}
	assert.Zero(t, testing.AllocsPerRun(30, func() {
		if _, err := sum.Read(block); err != nil {
			t.Fatal(err)
		}
	}))
}

func TestBusesAddUpToTheirPair(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a1.wav", planes: noise(1, 2, 5000, 0.1), encoding: wavfile.Float32}, track{file: "b1.wav", planes: noise(2, 2, 5000, 0.1), encoding: wavfile.Float32}, track{file: "a2.wav", planes: noise(3, 2, 4000, 0.1), encoding: wavfile.Float32})
	s := open(t, sheetOf(dir, []string{"a1.wav", "b1.wav", "a2.wav"}), Options{})
	w := write(t, s, WriteOptions{Float: true, Buses: true})
	require.Len(t, w.Stems, 3)
	assert.Equal(t, []string{"", "Bus a", "Bus b"}, []string{w.Stems[0].Bus, w.Stems[1].Bus, w.Stems[2].Bus})
	assert.Equal(t, []int{3, 2, 1}, []int{w.Stems[0].Tracks, w.Stems[1].Tracks, w.Stems[2].Tracks})
	pair, _ := load(t, w.Stems[0].Path)
	for _, bus := range w.Stems[1:] {
		planes, _ := load(t, bus.Path)
		for side := range pair {
			for i, v := range planes[side] {
				pair[side][i] -= v
			}
		}
	}
	assert.Equal(t, [][]float64{make([]float64, 5000), make([]float64, 5000)}, pair)
}
