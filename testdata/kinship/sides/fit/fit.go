// Package fit keeps what was measured of the tracks of labelled sessions, and fits the table of the sides of one sound to it.
package fit

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/optimize"

	"foldout/features/kinship"
	"foldout/plan/company"
	"foldout/testdata/rolemodel/lab"
)

// Session is a labelled session: its pairs that are worth comparing.
type Session struct {
	Name   string
	Tracks int
	Pairs  []Pair
}

// Pair is a pair, and whether it is left and right of one sound.
type Pair struct {
	company.Sides
	True bool
}

// Maker is the hand that a session is by: the letter that its name begins with.
func (s *Session) Maker() string { return s.Name[:1] }

// Makers lists the makers of sessions.
func Makers(sessions []Session) []string {
	var out []string
	for _, s := range sessions {
		if m := s.Maker(); !slices.Contains(out, m) {
			out = append(out, m)
		}
	}
	slices.Sort(out)
	return out
}

// Without parts sessions into those by other makers and those by one.
func Without(maker string, sessions []Session) (others, apart []Session) {
	for _, s := range sessions {
		if s.Maker() == maker {
			apart = append(apart, s)
		} else {
			others = append(others, s)
		}
	}
	return others, apart
}

// Write keeps sessions, packed.
func Write(path string, sessions []Session) error {
	var rows [][]string
	for _, s := range sessions {
		for _, p := range s.Pairs {
			row := []string{s.Name, strconv.Itoa(s.Tracks), strconv.Itoa(p.A), strconv.Itoa(p.B), strconv.FormatBool(p.True)}
			for _, v := range p.Measured {
				row = append(row, strconv.FormatFloat(v, 'g', 3, 64))
			}
			rows = append(rows, row)
		}
	}
	return lab.WritePacked(path, rows)
}

// Read reads what Write kept.
func Read(path string) ([]Session, error) {
	rows, err := lab.ReadPacked(path)
	if err != nil {
		return nil, err
	}
	var out []Session
	for n, r := range rows {
		if len(r) != 5+len(company.SideMeasures) {
			return nil, fmt.Errorf("%s, row %d: %d fields", path, n+1, len(r))
		}
		var v []float64
		for _, text := range append(slices.Clone(r[1:4]), r[5:]...) {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				return nil, fmt.Errorf("%s, row %d: %w", path, n+1, err)
			}
			v = append(v, x)
		}
		if len(out) == 0 || out[len(out)-1].Name != r[0] {
			out = append(out, Session{Name: r[0], Tracks: int(v[0])})
		}
		s := &out[len(out)-1]
		s.Pairs = append(s.Pairs, Pair{company.Sides{A: int(v[1]), B: int(v[2]), Measured: v[3:]}, r[4] == "true"})
	}
	return out, nil
}

// shrink pulls the weights, but not the constant, to zero.
const shrink = 1.0

// Fit minimises, over all tracks, the log loss of the answer which other track is its other side, or none (McFadden 1974,
// conditional logit), plus the shrinkage; it is convex.
func Fit(sessions []Session) (*company.SideModel, error) {
	measures := len(company.SideMeasures)
	at := func(v, gradient []float64) (loss float64) {
		clear(gradient)
		m := company.SideModel{Constant: v[0], Weight: v[1:]}
		for _, s := range sessions {
			score := make([]float64, len(s.Pairs))
			all := make([]float64, s.Tracks)
			for i := range all {
				all[i] = 1
			}
			for k, p := range s.Pairs {
				score[k] = m.Score(p.Measured)
				all[p.A] += math.Exp(score[k])
				all[p.B] += math.Exp(score[k])
			}
			for _, t := range all {
				loss += math.Log(t)
			}
			for k, p := range s.Pairs {
				slope := math.Exp(score[k])/all[p.A] + math.Exp(score[k])/all[p.B]
				if p.True {
					loss -= 2 * score[k]
					slope -= 2
				}
				gradient[0] += slope
				for j, x := range p.Measured {
					gradient[1+j] += slope * x
				}
			}
		}
		for j, w := range v[1:] {
			loss += shrink / 2 * w * w
			gradient[1+j] += shrink * w
		}
		return loss
	}
	start, scratch := make([]float64, 1+measures), make([]float64, 1+measures)
	start[0] = -5
	res, err := optimize.Minimize(optimize.Problem{
		Func: func(v []float64) float64 { return at(v, scratch) },
		Grad: func(g, v []float64) { at(v, g) },
	}, start, &optimize.Settings{MajorIterations: 1000, Converger: &optimize.FunctionConverge{Relative: 1e-11, Iterations: 20}}, &optimize.LBFGS{})
	if res == nil {
		return nil, fmt.Errorf("fit of sides: %w", err)
	}
	return &company.SideModel{Constant: res.X[0], Weight: res.X[1:]}, nil
}

// Counts says how many pairs are sides, how many a model finds with the certainty from which a relation binds and how many of them
// are true, and the same of the waveforms alone.
type Counts struct{ Sides, Found, True, Before, BeforeTrue int }

// Found counts what a model finds in sessions.
func Found(m *company.SideModel, sessions []Session) (c Counts) {
	for _, s := range sessions {
		pairs := make([]company.Sides, len(s.Pairs))
		for k, p := range s.Pairs {
			pairs[k] = p.Sides
		}
		for k, p := range m.Weigh(s.Tracks, pairs) {
			is := 0
			if s.Pairs[k].True {
				is = 1
			}
			c.Sides += is
			if p.Probability >= kinship.Binds {
				c.Found++
				c.True += is
			}
			if p.Measured[0] >= company.SidesOdds(kinship.Binds) {
				c.Before++
				c.BeforeTrue += is
			}
		}
	}
	return c
}

// Line is a row of the table of what a model does.
func Line(title string, m *company.SideModel, sessions []Session) string {
	c := Found(m, sessions)
	return fmt.Sprintf("| %s | %d | %d | %d | %d | %d |", title, c.Sides, c.Found, c.True, c.Before, c.BeforeTrue)
}
