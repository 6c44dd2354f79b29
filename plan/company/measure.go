package company

import (
	"math"
	"slices"

	"foldout/features"
)

// Track is what the session needs to know of a track.
type Track struct {
	LevelDB float64 // rms while it sounds, dB re full scale; minus infinity for silence
	Start   int     // blocks from the beginning of time references to the first
	Sounds  []bool  // by blocks of half a second
}

const (
	blockSeconds = 0.5
	soundsRange  = 30.0  // dB below the loudest block of a track to which a block sounds
	soundsFloor  = -80.0 // dB re full scale below which none does
)

// Of takes from an analysis what company needs. Without a sketch the track never sounds.
func Of(a *features.Analysis) Track {
	p, s := &a.Profile, &a.Sketch
	t := Track{LevelDB: float64(p.ActiveRMSDBFS)}
	if s.HopSeconds <= 0 {
		return t
	}
	t.Start = int(math.Round(math.Max(-1e12, math.Min(1e12, s.StartSeconds/blockSeconds))))
	level := s.LevelsDB(int(math.Round(blockSeconds / s.HopSeconds)))
	if len(level) == 0 {
		return t
	}
	from := math.Max(slices.Max(level)-soundsRange, soundsFloor)
	for _, l := range level {
		t.Sounds = append(t.Sounds, l > from)
	}
	return t
}

func (t *Track) sounds() bool { return slices.Contains(t.Sounds, true) }

// Measures names what is measured of a track among the voices of its session: all other tracks, each as far as it is believed
// to be a voice. Time is that in which any track sounds.
var Measures = []string{
	"time",      // share of the time in which it sounds, less a half
	"more time", // that share, less the largest of the others
	"louder",    // rms while sounding against the mean of the others, in tens of dB
	"others",    // log of one plus their number, less 0.7
	"in step",   // log of one plus the sum of the others' overlap (shared time over all time of both), less 0.4
}

// Measure returns tracks x Measures; voice is the probability of each track to be a voice.
func Measure(tracks []Track, voice []float64) [][]float64 {
	line := timeline(tracks)
	sounding, any := soundingTime(line)
	level := levels(tracks)
	all := sum(voice)
	out := make([][]float64, len(tracks))
	for i := range tracks {
		others := math.Max(0, all-voice[i])
		most, meanLevel, inStep := 0.0, 0.0, 0.0
		for j, v := range voice {
			if j != i {
				most = math.Max(most, v*sounding[j]/any)
				meanLevel += v * level[j]
				inStep += v * overlap(line[i], line[j])
			}
		}
		louder := 0.0
		if others > fewOthers {
			louder = (level[i] - meanLevel/others) * math.Min(1, others)
		}
		share := sounding[i] / any
		out[i] = []float64{share - 0.5, share - most, louder, math.Log1p(others) - 0.7, math.Log1p(inStep) - 0.4}
	}
	return out
}

// fewOthers is how much of another voice there must be for levels to be compared.
const fewOthers = 0.3

// soundingTime counts the blocks in which each track sounds, and those in which any does, at least one.
func soundingTime(line [][]bool) (of []float64, any float64) {
	of = make([]float64, len(line))
	for b := range line[0] {
		together := false
		for i := range line {
			if line[i][b] {
				of[i]++
				together = true
			}
		}
		if together {
			any++
		}
	}
	return of, math.Max(1, any)
}

// longest is how many blocks a session may be long before its time references are taken as mistaken: one day.
const longest = 24 * 3600 * 2

// timeline puts all tracks on one line of blocks. Where time references lie more than a day apart, all begin together.
func timeline(tracks []Track) [][]bool {
	first, last := math.MaxInt, math.MinInt
	for _, t := range tracks {
		if len(t.Sounds) > 0 {
			first, last = min(first, t.Start), max(last, t.Start+len(t.Sounds))
		}
	}
	if last < first {
		first, last = 0, 0
	}
	if apart := float64(last) - float64(first); apart > longest {
		tracks = slices.Clone(tracks)
		first, last = 0, 0
		for i := range tracks {
			tracks[i].Start, last = 0, max(last, len(tracks[i].Sounds))
		}
	}
	line := make([][]bool, len(tracks))
	for i, t := range tracks {
		line[i] = make([]bool, max(0, last-first))
		if len(t.Sounds) > 0 {
			copy(line[i][t.Start-first:], t.Sounds)
		}
	}
	return line
}

// levels are in tens of dB, from -10 (or unknown) to 1.
func levels(tracks []Track) []float64 {
	out := make([]float64, len(tracks))
	for i, t := range tracks {
		out[i] = -10
		if t.LevelDB > -100 {
			out[i] = math.Min(1, t.LevelDB/10)
		}
	}
	return out
}

// overlap is the time that two tracks share over the time of both.
func overlap(a, b []bool) float64 {
	var both, either float64
	for i, on := range a {
		if on && b[i] {
			both++
		}
		if on || b[i] {
			either++
		}
	}
	return both / math.Max(1, either)
}

func sum(v []float64) (s float64) {
	for _, x := range v {
		s += x
	}
	return s
}
