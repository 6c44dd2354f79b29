package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"foldout/plan/fold"
	"foldout/plan/trade"
	"foldout/testdata/rolemodel/lab"
)

var (
	variants = []string{"named", "mixed", "anon"}
	sizes    = []int{4, 8}
)

// scores sums up sessions.
type scores struct {
	sessions []string
	rand     map[string][]float64 // by variant and pairs, a figure per session
	kept     map[int]int          // by pairs, without names: copies, returns and sides of one sound that share the pair of their source
	cases    map[int]int
	heard    tally // the ears by themselves
	believed tally // with what the session tells
}

func key(variant string, k int) string { return variant + strconv.Itoa(k) }

func (all *scores) add(s *session) error {
	if all.rand == nil {
		all.rand, all.kept, all.cases = map[string][]float64{}, map[int]int{}, map[int]int{}
	}
	all.sessions = append(all.sessions, s.name)
	for _, v := range variants {
		for _, k := range sizes {
			pair, err := s.fold(v, k)
			if err != nil {
				return err
			}
			all.rand[key(v, k)] = append(all.rand[key(v, k)], s.agreement(pair, k))
			if v == "anon" {
				kept, of := s.together(pair)
				all.kept[k], all.cases[k] = all.kept[k]+kept, all.cases[k]+of
			}
		}
	}
	for _, k := range sizes {
		pair, err := s.plain(k)
		if err != nil {
			return err
		}
		all.rand[key("plain", k)] = append(all.rand[key("plain", k)], s.agreement(pair, k))
	}
	tracks, kin, at := s.under("anon")
	folded, err := fold.Prepare(s.name, tracks, fold.Options{Pairs: 4, EarsOnly: true, Kin: kin})
	if err != nil {
		return err
	}
	for n, i := range at {
		if t := s.tracks[i]; t.Atom != "" && !t.Silent {
			all.heard.add(t, folded.Heard[n])
			all.believed.add(t, folded.Own[n])
		}
	}
	return nil
}

// fold folds the session under one set of names and returns the pair of each label. A track set aside is alone.
func (s *session) fold(variant string, k int) ([]int, error) {
	tracks, kin, at := s.under(variant)
	prepared, err := fold.Prepare(s.name, tracks, fold.Options{Pairs: k, Seed: 1, Kin: kin})
	if err != nil {
		return nil, err
	}
	g, err := prepared.Fold(k)
	if err != nil {
		return nil, err
	}
	pair := make([]int, len(at))
	for n := range pair {
		pair[at[n]] = -1 - n
	}
	for p, n := range prepared.Live {
		pair[at[n]] = g.Labels[p]
	}
	return pair, nil
}

// agreement is the adjusted Rand index of a fold, best over the accepted ones.
func (s *session) agreement(pair []int, k int) float64 {
	ref := s.reference[strconv.Itoa(k)]
	best := math.Inf(-1)
	for _, accepted := range append([][][]string{ref.Primary}, ref.Alternatives...) {
		group := map[string]int{}
		for g, atoms := range accepted {
			for _, a := range atoms {
				group[a] = g
			}
		}
		var truth, found []int
		for i, t := range s.tracks {
			if t.Atom != "" {
				truth, found = append(truth, group[t.Atom]), append(found, pair[i])
			}
		}
		best = math.Max(best, adjustedRand(truth, found))
	}
	return best
}

// adjustedRand is the index of Hubert and Arabie (1985, J. Classification 2, 193-218).
func adjustedRand(a, b []int) float64 {
	cells, rows, columns := map[[2]int]float64{}, map[int]float64{}, map[int]float64{}
	for i := range a {
		cells[[2]int{a[i], b[i]}]++
		rows[a[i]]++
		columns[b[i]]++
	}
	pairs := func(n float64) float64 { return n * (n - 1) / 2 }
	var both, inA, inB float64
	for _, n := range cells {
		both += pairs(n)
	}
	for _, n := range rows {
		inA += pairs(n)
	}
	for _, n := range columns {
		inB += pairs(n)
	}
	chance, top := inA*inB/pairs(float64(len(a))), (inA+inB)/2
	if top == chance {
		return 1
	}
	return (both - chance) / (top - chance)
}

func mean(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x / float64(len(v))
	}
	return sum
}

func (all *scores) markdown() string {
	var b strings.Builder
	fmt.Fprintf(&b, "| session | named 4 / 8 | half the names 4 / 8 | no names 4 / 8 |\n|---|---|---|---|\n")
	for i, name := range all.sessions {
		fmt.Fprintf(&b, "| %s |", name)
		for _, v := range variants {
			fmt.Fprintf(&b, " %.3f / %.3f |", all.rand[key(v, 4)][i], all.rand[key(v, 8)][i])
		}
		fmt.Fprintln(&b)
	}
	fmt.Fprintf(&b, "| **mean of %d** |", len(all.sessions))
	for _, v := range variants {
		fmt.Fprintf(&b, " %.3f / %.3f |", mean(all.rand[key(v, 4)]), mean(all.rand[key(v, 8)]))
	}
	fmt.Fprintf(&b, "\n\nPlain k-means on centroid, octave bands, crest factor and loudness: %.3f / %.3f. Copies, returns and sides of one sound on the pair of their\n"+
		"source, without names: %d of %d at 4 pairs, %d of %d at 8.\n", mean(all.rand[key("plain", 4)]), mean(all.rand[key("plain", 8)]),
		all.kept[4], all.cases[4], all.kept[8], all.cases[8])
	fmt.Fprintf(&b, "\n| without names | tracks | family right | coarse right | log loss | lead or backing right |\n|---|---:|---:|---:|---:|---:|\n")
	all.heard.line(&b, "each track by itself")
	all.believed.line(&b, "with the company it keeps")
	all.believed.details(&b)
	return b.String()
}

// tally counts what was believed of labelled tracks.
type tally struct {
	n, family, coarse, loss float64
	voices, voicesRight     float64
	taken                   map[string]map[string]int
	said, right, of         [5]float64
}

var edges = [...]float64{0, 0.5, 0.7, 0.85, 0.95, 1.01}

var roleFamily = func() (families []string) {
	for _, r := range trade.Roles {
		families = append(families, lab.Families[lab.FamilyOf(r)])
	}
	return families
}()

var coarseOf = func() map[string]string {
	kinds := map[string]string{}
	for f, name := range lab.Families {
		kinds[name] = lab.Coarse[lab.CoarseOf(f)]
	}
	return kinds
}()

func (y *tally) add(t label, b fold.Belief) {
	family, coarse := map[string]float64{}, map[string]float64{}
	for r, p := range b {
		family[roleFamily[r]] += p
		coarse[coarseOf[roleFamily[r]]] += p
	}
	f, c := largest(family), largest(coarse)
	if y.taken == nil {
		y.taken = map[string]map[string]int{}
	}
	if y.taken[t.Atom] == nil {
		y.taken[t.Atom] = map[string]int{}
	}
	y.taken[t.Atom][f]++
	hit := 0.0
	if f == t.Atom {
		hit = 1
	}
	y.n++
	y.family += hit
	if c == coarseOf[t.Atom] {
		y.coarse++
	}
	y.loss -= math.Log(math.Max(family[t.Atom], 1e-6))
	if voice := coarseOf["lead"]; c == voice && coarseOf[t.Atom] == voice {
		y.voices++
		if (family["lead"] > family["bgv"]) == (t.Atom == "lead") {
			y.voicesRight++
		}
	}
	for i := range y.of {
		if p := family[f]; p >= edges[i] && p < edges[i+1] {
			y.of[i]++
			y.said[i] += p
			y.right[i] += hit
		}
	}
}

func largest(m map[string]float64) string {
	best := ""
	for k, v := range m {
		if best == "" || v > m[best] || v == m[best] && k < best {
			best = k
		}
	}
	return best
}

func (y *tally) line(b *strings.Builder, title string) {
	fmt.Fprintf(b, "| %s | %.0f | %.1f %% | %.1f %% | %.3f | %.1f %% of %.0f |\n", title, y.n, 100*y.family/y.n, 100*y.coarse/y.n,
		y.loss/y.n, 100*y.voicesRight/math.Max(1, y.voices), y.voices)
}

func (y *tally) details(b *strings.Builder) {
	fmt.Fprintf(b, "\n| family | tracks | right | taken for |\n|---|---:|---:|---|\n")
	for _, f := range lab.Families {
		if y.taken[f] == nil {
			continue
		}
		n := 0
		for _, c := range y.taken[f] {
			n += c
		}
		var wrong []string
		for _, g := range lab.Families {
			if c := y.taken[f][g]; g != f && c > 0 {
				wrong = append(wrong, fmt.Sprintf("%s %d", g, c))
			}
		}
		fmt.Fprintf(b, "| %s | %d | %.0f %% | %s |\n", f, n, 100*float64(y.taken[f][f])/float64(n), strings.Join(wrong, ", "))
	}
	fmt.Fprintf(b, "\n| certainty said | tracks | mean | right |\n|---|---:|---:|---:|\n")
	for i := range y.of {
		if y.of[i] > 0 {
			fmt.Fprintf(b, "| %.0f to %.0f %% | %.0f | %.0f %% | %.0f %% |\n", 100*edges[i], 100*math.Min(1, edges[i+1]), y.of[i],
				100*y.said[i]/y.of[i], 100*y.right[i]/y.of[i])
		}
	}
}
