package kinship

import (
	"cmp"
	"math"
	"slices"
)

// Part is what one track is to a mix.
type Part struct {
	Track  int
	GainDB float64 // its power in the mix over its power alone
	Share  float64 // of the mix's power, 0..1
}

const (
	mixedPieces = 6     // of the mix, the loudest
	mixedLag    = 60e-3 // s: a unit or a limiter takes less
	mixedSure   = 6     // height of the correlation over chance from which a lag is believed
	mixedPart   = 1e-3  // of the power
)

// Mixed explains a track as a sum of the waveforms of others, from 40 Hz to 1.75 kHz: one delay for all, and for each a gain in
// each of six bands, found by non-negative least squares. Explained is the share of its power that they give, 0..1. Unlike powers,
// waveforms add up also where voices sing in unison.
func Mixed(sketches []Sketch, mix int, from []int) (explained float64, parts []Part) {
	part := append(slices.Clone(from), mix)
	some, gains := make([]Sketch, len(part)), make([]float32, len(part))
	index := loudest(&sketches[mix], mixedPieces)
	for k, t := range part {
		some[k] = sketches[t]
		some[k].Chunks = nil
		for _, c := range sketches[t].Chunks {
			if slices.Contains(index, c.Index) {
				some[k].Chunks = append(some[k].Chunks, c)
			}
		}
		gains[k] = normalise(&some[k])
	}
	last := len(part) - 1
	if gains[last] == 0 {
		return 0, nil
	}
	var pairs []Pair
	var two [][2]int
	at := map[[2]int]int{}
	var list []int // of the pairs of the mix
	for j := range part {
		for i := range j {
			if gains[i] > 0 && gains[j] > 0 {
				if j == last {
					list = append(list, len(pairs))
				}
				at[[2]int{i, j}] = len(pairs)
				pairs, two = append(pairs, Pair{look: look{A: i, B: j}}), append(two, [2]int{i, j})
			}
		}
	}
	if len(list) == 0 {
		return 0, nil
	}
	third := measure(some, gains, fine, func(int) []int { return []int{0} }, two)
	found, explained := regress(last, mixLag(some, index), list, pairs, third, at)
	for k, m := range found {
		if m.share > mixedPart {
			alone := powerOf(&some[k]) / powerOf(&some[last])
			parts = append(parts, Part{part[k], 10 * math.Log10(m.share/alone), m.share})
		}
	}
	slices.SortFunc(parts, func(a, b Part) int { return cmp.Or(-cmp.Compare(a.Share, b.Share), cmp.Compare(a.Track, b.Track)) })
	return explained, parts
}

// powerOf is the power of all pieces of a track.
func powerOf(s *Sketch) (sum float64) {
	for i := range s.Chunks {
		sum += s.Chunks[i].Power
	}
	return sum
}

// loudest lists the pieces of most power.
func loudest(s *Sketch, most int) []int64 {
	chunks := slices.Clone(s.Chunks)
	slices.SortStableFunc(chunks, func(a, b Chunk) int { return cmp.Compare(b.Power, a.Power) })
	var index []int64
	for _, c := range chunks[:min(len(chunks), most)] {
		index = append(index, c.Index)
	}
	return index
}

// mixLag is by how many seconds the last of the tracks comes after the sum of the others as they are; 0 where that is not plain.
func mixLag(tracks []Sketch, index []int64) float64 {
	sum, mix := make([]float32, len(index)*chunkSamples), make([]float32, len(index)*chunkSamples)
	wave := make([]float32, chunkSamples)
	for n, i := range index {
		for t := range tracks {
			c := tracks[t].chunk(i)
			if c == nil {
				continue
			}
			c.decode(wave)
			into := sum
			if t == len(tracks)-1 {
				into = mix
			}
			for k, v := range wave {
				into[n*chunkSamples+k] += v
			}
		}
	}
	reach := int(mixedLag * waveRateHz)
	found := NewAligner(sum, len(mix), waveRateHz).Look(mix, -reach, reach)
	if found.Height < mixedSure*found.Chance {
		return 0
	}
	return found.Lag / waveRateHz
}
