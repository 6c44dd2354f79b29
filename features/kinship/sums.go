package kinship

import (
	"cmp"
	"math"
	"slices"
)

// A sum is a track that others explain: its spectrum is regressed on theirs with non-negative gains, band by band, on
// the cross spectra of the third look. Members lie on time, or all equally late behind a processor's latency, and
// their gains are nearly the same in all bands; what lies apart from them gets no gain. What one member holds of another, as microphones of one kit do, is
// settled by the regression, not counted twice.

const (
	sumBands   = 6
	sumLatency = 20e-3 // of a sum, or between what its members hear of one another
	sumMembers = 16    // at most
)

// member is what one track is to a sum.
type member struct {
	explained float64 // share of the sum's power that all members together explain, 0..1
	even      float64 // of that, what is left with one gain for all bands
	share     float64 // this member's part of explained
	members   int     // with a part of 3 % and more
}

// sumsOf regresses every track on its partners; the key is {member, sum}.
func sumsOf(pairs []Pair, third []*cross) map[[2]int]member {
	at := map[[2]int]int{}
	partners := map[int][]int{}
	for i := range pairs {
		p := &pairs[i]
		if third[i].lags[0] != 0 || math.Abs(p.LagSeconds) > sumLatency || p.Coherence < 0.01 {
			continue
		}
		at[[2]int{p.A, p.B}] = i
		partners[p.A] = append(partners[p.A], i)
		partners[p.B] = append(partners[p.B], i)
	}
	out := map[[2]int]member{}
	for sum, list := range partners {
		slices.SortStableFunc(list, func(i, j int) int { return cmp.Compare(pairs[j].Coherence, pairs[i].Coherence) })
		list = list[:min(len(list), sumMembers)]
		lags := []float64{0}
		for _, i := range list[:min(len(list), 3)] {
			if lag := pairs[i].seen(pairs[i].other(sum)).lag; math.Abs(lag) > 0.1e-3 && math.Abs(lag) < 6e-3 {
				lags = append(lags, lag)
			}
		}
		var best map[int]member
		var most float64
		for _, lag := range lags {
			if found, explained := regress(sum, lag, list, pairs, third, at); explained > most*1.02 {
				best, most = found, explained
			}
		}
		for m, v := range best {
			out[[2]int{m, sum}] = v
		}
	}
	return out
}

// bandOf is the band, of sumBands evenly spaced on a logarithmic scale, of each bin of the third look.
var bandOf = func() []int {
	first, n := fine.bins()
	out := make([]int, n)
	for bin := range out {
		k := int(sumBands * math.Log(float64(first+bin)/float64(first)) / math.Log(float64(first+n)/float64(first)))
		out[bin] = min(k, sumBands-1)
	}
	return out
}()

func regress(sum int, lag float64, list []int, pairs []Pair, third []*cross, at map[[2]int]int) (map[int]member, float64) {
	var tracks, use []int
	for _, i := range list {
		tracks, use = append(tracks, pairs[i].other(sum)), append(use, i)
	}
	n := len(tracks)
	if n == 0 {
		return nil, 0
	}
	// Normal equations per band. The sum is turned back by its lag.
	gram, slope := make([][]float64, sumBands), make([][]float64, sumBands)
	power := make([]float64, sumBands)
	for b := range gram {
		gram[b], slope[b] = make([]float64, n*n), make([]float64, n)
	}
	first, bins := fine.bins()
	cos, sin := make([]float64, bins), make([]float64, bins)
	for bin := range bins {
		sin[bin], cos[bin] = math.Sincos(2 * math.Pi * float64(first+bin) * waveRateHz / float64(fine.size) * lag)
	}
	for k, i := range use {
		x := third[i]
		sign := 1.0
		if x.x == sum {
			sign = -1
		}
		for bin := range bins {
			b := bandOf[bin]
			re, im, _ := x.at(0, bin)
			slope[b][k] -= re*cos[bin] - sign*im*sin[bin]
			own, whole := x.xx[bin], x.yy[bin]
			if x.x == sum {
				own, whole = whole, own
			}
			gram[b][k*n+k] += own
			power[b] += whole / float64(n)
		}
		for l, j := range use[:k] {
			u, v := tracks[k], tracks[l]
			q, ok := at[[2]int{min(u, v), max(u, v)}]
			if !ok || j == i {
				continue
			}
			for bin := range bins {
				b := bandOf[bin]
				re, _, _ := third[q].at(0, bin)
				gram[b][k*n+l] += re
			}
			for b := range gram {
				gram[b][l*n+k] = gram[b][k*n+l]
			}
		}
	}
	shares := make([]float64, n)
	var whole, explained float64
	all, allSlope := make([]float64, n*n), make([]float64, n)
	for b := range gram {
		whole += power[b]
		w := nonNegative(gram[b], slope[b], power[b])
		for k, v := range w {
			shares[k] -= v * slope[b][k]
			explained -= v * slope[b][k]
		}
		for k := range all {
			all[k] += gram[b][k]
		}
		for k := range allSlope {
			allSlope[k] += slope[b][k]
		}
	}
	if !(whole > 0) || !(explained > 0) {
		return nil, 0
	}
	var even float64
	for k, v := range nonNegative(all, allSlope, whole) {
		even -= v * allSlope[k]
	}
	count := 0
	for _, v := range shares {
		if v >= 0.03*whole {
			count++
		}
	}
	out := map[int]member{}
	for k, t := range tracks {
		out[t] = member{explained: min(explained/whole, 1), even: min(even/explained, 1), share: min(shares[k]/whole, 1), members: count}
	}
	return out, min(explained/whole, 1)
}

const solveRounds = 200

// nonNegative minimises w'Gw/2 + s'w over w >= 0, n gains with an n x n matrix G and s of length n, by coordinate descent
// (Franc, Hlavac and Navara, Sequential coordinate-wise algorithm for the non-negative least squares problem, CAIP
// 2005). For least squares G is X'X, s is -X'y and whole is y'y: no part alone may give more than the whole, which
// also keeps gains finite where some products of X'X were not measured.
func nonNegative(gram, slope []float64, whole float64) []float64 {
	m := len(slope)
	slope = append([]float64(nil), slope...)
	w, most := make([]float64, m), make([]float64, m)
	for i, v := range slope {
		if v < 0 {
			most[i] = whole / -v
		}
	}
	var scale float64
	for i := range m {
		scale = max(scale, gram[i*m+i])
	}
	for range solveRounds {
		moved := 0.0
		for i := range m {
			d := gram[i*m+i]
			if !(d > 1e-12*scale) {
				continue
			}
			next := min(max(0, w[i]-slope[i]/d), most[i])
			step := next - w[i]
			if step == 0 {
				continue
			}
			w[i] = next
			for j := range m {
				slope[j] += step * gram[i*m+j]
			}
			moved = max(moved, math.Abs(step))
		}
		if moved <= 1e-7 {
			break
		}
	}
	return w
}
