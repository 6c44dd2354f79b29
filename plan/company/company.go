// Package company settles what the tracks of a session tell of one another: lead against backing voices (Settle), and which two mono
// tracks are left and right of one sound (FindSides). In go what the ears believe of every track, and when and how loud each sounds;
// out come beliefs that have looked at one another, and pairs.
//
// A sound by itself hardly tells a lead from a backing voice. The session does: the lead sings most of the time and is the
// loudest, the others come in stacks and together. For each of these measures of company (Measures) the table of this folder,
// company.csv, holds a weight; their sum is added to the log odds of lead against backing that the ears give (logistic
// regression). That a track is a voice at all, and how sure that is, does not change. The weights were fitted on labelled
// sessions with ears that had not heard them; testdata/rolemodel says how, what they bring, and which other questions
// company was asked without gain.
package company

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/plan/trade"
)

//go:embed company.csv
var table string

var shipped = must(Parse(table))

var lead, backing = trade.RoleIndex["lead vocal"], trade.RoleIndex["backing vocal"]

// Model holds the weights.
type Model struct {
	Trust    float64   // factor on the ears' log odds
	Constant float64   // for the lead
	Weight   []float64 // of each of Measures, for the lead
}

// Least is the probability that lead and backing have at least, each, before their odds are taken.
const Least = 1e-4

// Settled is what company makes of a track.
type Settled struct {
	Belief   []float64 // one probability per role of package trade, summing to 1
	Measured []float64 // Measures of the track; nil where there is no company
	Terms    []float64 // what each of them adds to the log odds of lead against backing
}

// Settle returns what to believe of each track, in the order of the tracks. heard is what the ears say of each by itself,
// known what is believed of each as a member of the others' company, with names if there are any; it may be heard again.
// Neither is changed. Where nothing else can be a voice, and for silence, what was heard is returned as it is.
func Settle(tracks []Track, heard, known [][]float64) []Settled {
	return shipped.Settle(tracks, heard, known)
}

// Settle is Settle under these weights.
func (m *Model) Settle(tracks []Track, heard, known [][]float64) []Settled {
	out := make([]Settled, len(heard))
	voice := make([]float64, len(heard))
	for i, b := range heard {
		out[i].Belief = slices.Clone(b)
		voice[i] = known[i][lead] + known[i][backing]
	}
	if len(tracks) == 0 {
		return out
	}
	all := sum(voice)
	for i, x := range Measure(tracks, voice) {
		if !tracks[i].sounds() || all-voice[i] < fewOthers {
			continue
		}
		out[i].Measured = x
		b := out[i].Belief
		odds := m.Trust*Odds(b) + m.Constant
		for j, v := range x {
			out[i].Terms = append(out[i].Terms, m.Weight[j]*v)
			odds += m.Weight[j] * v
		}
		both := b[lead] + b[backing]
		b[lead] = both / (1 + math.Exp(-odds))
		b[backing] = both - b[lead]
	}
	return out
}

// Odds are the log odds of lead against backing.
func Odds(belief []float64) float64 {
	return math.Log((belief[lead] + Least) / (belief[backing] + Least))
}

// Parse reads a table of weights: rows of a name and a number, first "ears" for the trust in them, then "constant", then each
// of Measures.
func Parse(text string) (*Model, error) {
	v, err := numbersOf(text, append([]string{"ears", "constant"}, Measures...))
	if err != nil {
		return nil, fmt.Errorf("table of company: %w", err)
	}
	return &Model{v[0], v[1], v[2:]}, nil
}

// Table is the model as Parse reads it.
func (m *Model) Table() string {
	var b strings.Builder
	fmt.Fprintf(&b, "ears,%.3f\nconstant,%.3f\n", m.Trust, m.Constant)
	for j, name := range Measures {
		fmt.Fprintf(&b, "%s,%.3f\n", name, m.Weight[j])
	}
	return b.String()
}

// must stops the program at its start: the table is part of the program, so a fault in it is a fault in the program.
func must[M any](m *M, err error) *M {
	if err != nil {
		panic(err)
	}
	return m
}
