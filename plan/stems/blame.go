package stems

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"

	"foldout/features"
)

// Fault is a track (or a pair, or all centred mono tracks) that the mix has at another level than the stems.
type Fault struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

const (
	mostFaults = 8
	worthDB    = 1.0 // a further track must take at least this much of the residual away
)

// tracks explains the residual by tracks at other gains: it picks the candidate that takes most away, fits all picked so
// far together by least squares, and goes on (orthogonal matching pursuit: Pati, Rezaiifar and Krishnaprasad 1993). Nil
// where that takes less than partlyDB away.
func (e *evidence) tracks() *Reason {
	r := e.residual()
	before := e.level(r)
	target := max(e.floor(), before-60)
	_, after := e.leastSquares(r, []int{e.all})
	asGain := e.level(after)
	left := before
	var picked []int
	var fits [][2]float64
	rest := r
	for len(picked) < mostFaults && left > target {
		next := e.strongest(rest, picked)
		if next < 0 {
			break
		}
		trial := append(append([]int{}, picked...), next)
		gains, after := e.leastSquares(r, trial)
		if now := e.level(after); now < left-worthDB {
			picked, fits, rest, left = trial, gains, after, now
			continue
		}
		break
	}
	if len(picked) == 0 || left > max(target, min(before, asGain)-partlyDB) {
		return nil
	}
	out := &Reason{Kind: KindTracks, Remains: features.DB(left)}
	var texts []string
	for i, k := range picked {
		if text := e.cands[k].words(fits[i], e.base(k, picked, fits)); text != "" {
			out.Tracks = append(out.Tracks, Fault{Name: e.cands[k].name, Text: text})
			texts = append(texts, text)
		}
	}
	out.Text = strings.Join(texts, "; ")
	if left > before-explainedDB && left > e.floor() {
		out.Text += fmt.Sprintf("; that explains the residual only in part, %.1f dBFS rms are left", left)
	}
	return out
}

// strongest finds the candidate that alone would take most of the residual away; -1 if none would.
func (e *evidence) strongest(r [2][]float64, without []int) int {
	best, at := 0.0, -1
next:
	for k := range e.cands {
		for _, p := range without {
			if p == k {
				continue next
			}
		}
		taken := 0.0
		for side := range r {
			if en := e.cands[k].energy[side]; en > 1e-12 {
				p := dot(r[side], e.cands[k].planes[side])
				taken += p * p / en
			}
		}
		if taken > best*(1+1e-9) {
			best, at = taken, k
		}
	}
	return at
}

func dot(r []float64, x []float32) float64 {
	x = x[:len(r)]
	var a, b float64
	n := len(r) &^ 1
	for i := 0; i < n; i += 2 {
		a += r[i] * float64(x[i])
		b += r[i+1] * float64(x[i+1])
	}
	for i := n; i < len(r); i++ {
		a += r[i] * float64(x[i])
	}
	return a + b
}

// leastSquares fits the picked candidates to r, each side by itself, and returns their gains and what is left.
func (e *evidence) leastSquares(r [2][]float64, picked []int) (gains [][2]float64, left [2][]float64) {
	n := len(picked)
	gains = make([][2]float64, n)
	for side := range r {
		gram, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		wide := make([][]float64, n)
		for i, k := range picked {
			plane := e.cands[k].planes[side]
			wide[i] = make([]float64, len(plane))
			for t, v := range plane {
				wide[i][t] = float64(v)
			}
			rhs.SetVec(i, dot(r[side], plane))
		}
		for i := range picked {
			for j := i; j < n; j++ {
				gram.SetSym(i, j, dot(wide[i], e.cands[picked[j]].planes[side]))
			}
		}
		left[side] = append([]float64{}, r[side]...)
		var svd mat.SVD
		if !svd.Factorize(gram, mat.SVDThin) {
			continue
		}
		rank := 0
		for values := svd.Values(nil); rank < n && values[rank] > 1e-10*values[0] && values[rank] > 0; rank++ {
		}
		if rank == 0 {
			continue
		}
		var b mat.Dense
		svd.SolveTo(&b, rhs, rank)
		for i := range picked {
			g := b.At(i, 0)
			gains[i][side] = g
			for t, v := range wide[i] {
				left[side][t] -= g * v
			}
		}
	}
	return gains, left
}

// base is the gain that a candidate has in the mix by virtue of the groups it belongs to, before its own part: its
// nominal gain where none of them is at another.
func (e *evidence) base(k int, picked []int, fits [][2]float64) [2]float64 {
	c := &e.cands[k]
	base := c.nominal
	for i, p := range picked {
		g := &e.cands[p]
		for side := range base {
			switch {
			case p == k || c.kind == onNoPair:
			case g.kind == allPairs && c.kind != allPairs, g.kind == onePair && c.kind == oneTrack && g.pair == c.pair:
				base[side] -= c.nominal[side] * fits[i][side]
			case g.kind == allCentred && c.kind == oneTrack && c.centred:
				base[side] -= fits[i][side]
			}
		}
	}
	return base
}

// words says what a fitted part of the residual means: by itself the candidate would have its base gain in the mix, in
// fact it has that less the fit.
func (k *candidate) words(fit, base [2]float64) string {
	const nothing = 0.02
	var inMix [2]float64
	for side := range fit {
		if k.energy[side] > 1e-12 {
			inMix[side] = base[side] - fit[side]
		}
	}
	loud := max(math.Abs(inMix[0]), math.Abs(inMix[1]))
	if k.kind == onNoPair {
		return fmt.Sprintf("%s is in the mix (at %s) but on no pair", k.name, signedDB(decibels(loud)))
	}
	if loud < nothing {
		return k.name + " " + k.verb("is", "are") + " missing from the mix"
	}
	var ratio [2]float64
	sides := 0
	for side := range ratio {
		if k.nominal[side] > 0 && k.energy[side] > 1e-12 && math.Abs(base[side]) > 1e-6 {
			ratio[side] = inMix[side] / base[side]
			sides++
		}
	}
	spill := k.nominal[0] == 0 && math.Abs(inMix[0]) > nothing || k.nominal[1] == 0 && math.Abs(inMix[1]) > nothing
	one := ratio[0]
	if k.nominal[0] == 0 || k.energy[0] <= 1e-12 {
		one = ratio[1]
	}
	same := sides == 1 || math.Abs(ratio[0]-ratio[1]) < nothing*max(1, math.Abs(one))
	switch {
	case same && !spill && one < 0:
		text := k.name + " " + k.verb("has", "have") + " inverted polarity in the mix"
		if math.Abs(decibels(one)) > sameDB {
			text += fmt.Sprintf(", at %s", signedDB(decibels(one)))
		}
		return text
	case same && !spill && k.kind == allCentred:
		return fmt.Sprintf("the mix has mono tracks in the centre at %s on each side, the stems at %s: another pan law; give --pan", signedDB(decibels(inMix[0])), signedDB(decibels(k.nominal[0])))
	case same && !spill:
		against := "the stems"
		if base != k.nominal {
			against = "the rest"
		}
		return fmt.Sprintf("%s %s at %s in the mix, against %s", k.name, k.verb("is", "are"), signedDB(decibels(one)), against)
	}
	return fmt.Sprintf("%s %s panned otherwise in the mix: %s left, %s right, in the stems %s and %s", k.name, k.verb("is", "are"),
		signedDB(decibels(inMix[0])), signedDB(decibels(inMix[1])), signedDB(decibels(k.nominal[0])), signedDB(decibels(k.nominal[1])))
}

func (k *candidate) verb(one, many string) string {
	if k.kind == allCentred {
		return many
	}
	return one
}
