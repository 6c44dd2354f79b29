package main

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
)

func TestTracksAreTheSameEveryTime(t *testing.T) {
	for _, s := range []session{{8, 3, materialSession}, {2, 1, materialNoise}} {
		for i := range s.tracks {
			a, b := filepath.Join(t.TempDir(), s.file(i)), filepath.Join(t.TempDir(), s.file(i))
			require.NoError(t, s.track(a, i))
			require.NoError(t, s.track(b, i))
			x, err := os.ReadFile(a)
			require.NoError(t, err)
			y, err := os.ReadFile(b)
			require.NoError(t, err)
			assert.True(t, bytes.Equal(x, y), s.file(i))
		}
	}
}

// Tracks sound, stay below full scale, and are what the session promises: 48 kHz, 24 bit, mono and stereo in turn.
func TestTracksSound(t *testing.T) {
	s := session{8, 12, materialSession}
	for i := range s.tracks {
		path := filepath.Join(t.TempDir(), s.file(i))
		require.NoError(t, s.track(path, i))
		r, err := wavfile.Open(path)
		require.NoError(t, err)
		info := r.Info()
		assert.Equal(t, []int{48000, 24, 1 + i%2}, []int{info.SampleRateHz, info.BitDepth, info.Channels})
		require.EqualValues(t, 12*rate, info.Frames)
		planes := make([][]float32, info.Channels)
		for c := range planes {
			planes[c] = make([]float32, info.Frames)
		}
		_, err = r.Read(planes)
		require.NoError(t, err)
		require.NoError(t, r.Close())
		for _, plane := range planes {
			peak, square := 0.0, 0.0
			for _, v := range plane {
				peak, square = max(peak, math.Abs(float64(v))), square+float64(v)*float64(v)
			}
			assert.Less(t, peak, 1.0, s.file(i))
			assert.Greater(t, peak, 0.05, s.file(i))
			assert.Greater(t, math.Sqrt(square/float64(len(plane))), 0.005, s.file(i))
		}
		require.NoError(t, readTracks([]string{path}))
	}
}

func TestMedian(t *testing.T) {
	of := func(v ...float64) float64 {
		var costs []cost
		for _, x := range v {
			costs = append(costs, cost{cpu: x})
		}
		return median(costs, func(c cost) float64 { return c.cpu })
	}
	assert.Equal(t, 2.0, of(3, 1, 2))
	assert.Equal(t, 2.5, of(4, 1, 2, 3))
	assert.Equal(t, 7.0, of(7))
}

func TestTableAndRatios(t *testing.T) {
	var b bytes.Buffer
	r := []result{{nameFoldout, cost{15, 8, 20e6}}, {nameOneWorker, cost{15, 15, 0}}, {nameFFmpeg, cost{60, 30, 60e6}}}
	printTable(&b, r)
	printRatios(&b, r)
	assert.Contains(t, b.String(), "CPU time of foldout re ffmpeg: 0.25")
	assert.Contains(t, b.String(), "times as fast by the clock")
	assert.Contains(t, b.String(), "unknown")
	assert.NotContains(t, b.String(), "re "+namePlain)
}

func TestBadArguments(t *testing.T) {
	for _, arguments := range [][]string{
		{"--tracks", "0"}, {"--seconds", "0"}, {"--seconds", "NaN"}, {"--material", "jazz"}, {"--rounds", "0"}, {"folder"},
		{jobMake}, {jobMake, "x", "jazz", "1", "1"}, {jobRead, filepath.Join(t.TempDir(), "missing.wav")},
	} {
		assert.Error(t, run(arguments), "%v", arguments)
	}
	assert.NoError(t, run([]string{"--help"}))
}

func TestForeignFilesAreRefused(t *testing.T) {
	dir := t.TempDir()
	s := session{1, 1, materialSession}
	require.NoError(t, s.track(filepath.Join(dir, s.file(0)), 0))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "other.wav"), nil, 0o644))
	_, err := s.make(dir)
	assert.ErrorContains(t, err, "other tracks")
}
