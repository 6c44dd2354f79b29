package main

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
)

// together counts copies and parallels that share a pair with their source (with several: with as many of them as any pair
// holds), effect returns that share one with a source, and sides of one sound that share one.
func (s *session) together(pair []int) (kept, of int) {
	at := map[string]int{}
	for i, t := range s.tracks {
		at[t.File] = pair[i]
	}
	for i, t := range s.tracks {
		if len(t.Source) == 0 {
			continue
		}
		here, most, held := 0, 0, map[int]int{}
		for _, f := range t.Source {
			held[at[f]]++
			most = max(most, held[at[f]])
			if at[f] == pair[i] {
				here++
			}
		}
		of++
		if here == most || t.Kind == "return" && here > 0 {
			kept++
		}
	}
	for _, side := range s.sides {
		of++
		if at[side[0]] == at[side[1]] {
			kept++
		}
	}
	return kept, of
}

// plain is what k-means makes of the session without roles, names and ties: centroid, octave bands, crest factor and loudness,
// standardised. Silent tracks are alone.
func (s *session) plain(k int) ([]int, error) {
	pair := make([]int, len(s.tracks))
	var live []int
	var rows []float64
	for i, a := range s.Analyses {
		pair[i] = -1 - i
		if p := &a.Profile; !p.Silent {
			live = append(live, i)
			rows = append(rows, math.Log2(math.Max(20, float64(p.CentroidHz))), float64(p.CrestDB), math.Max(-70, float64(p.IntegratedLUFS)))
			for _, v := range p.OctaveDB {
				rows = append(rows, math.Max(-80, float64(v)))
			}
		}
	}
	if slices.ContainsFunc(rows, math.IsNaN) || len(live) <= k {
		return pair, nil
	}
	x, _, err := cluster.Standardize(mat.NewDense(len(live), len(rows)/len(live), rows), cluster.ZScore)
	if err != nil {
		return nil, err
	}
	g, err := cluster.KMeans(x, k, cluster.Options{Restarts: 50, Seed: 1})
	if err != nil {
		return nil, err
	}
	for n, i := range live {
		pair[i] = g.Labels[n]
	}
	return pair, nil
}
