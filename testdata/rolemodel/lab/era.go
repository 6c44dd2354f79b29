package lab

import (
	"slices"
	"strings"
)

// Era is a way in which the table was or is made: the recipe, what trains it, and by how much more than today the odds were
// divided.
type Era struct {
	Name   string
	Recipe Recipe
	Trains func(body string) bool
	Softer float64
}

// Eras are the ways before and the present one, so that what each brought can be told on the same tracks. Effects are
// applied to rendered sessions, through rooms and loudspeakers that were recorded: the first era has none.
var Eras = []Era{
	{"rendered alone", Recipe{Shrink: 15, Alike: 8, Single: 0.25, Iterations: 200}, func(body string) bool {
		return !strings.HasPrefix(body, "real-") && !strings.HasPrefix(body, "proc-")
	}, 1},
	{"recordings too", Recipe{Shrink: 30, Alike: 8, Single: 0.25, Iterations: 200}, func(body string) bool {
		return !slices.ContainsFunc(later, func(prefix string) bool { return strings.HasPrefix(body, prefix) })
	}, 1.2 / 1.1},
	{"now", Shipped, func(string) bool { return true }, 1},
}

// later is what the second era did not have: loops, guitars layered or tuned down, and effects on the second half of the sessions.
var later = []string{"real-loops-", "real-heavy-", "real-metal-", "proc-t1", "proc-b10", "proc-e", "proc-x"}

// Tell tells the whole tracks of the bodies asked for, each by a model that has not met it nor what shares an instrument, a
// player or a room with it.
func (e Era) Tell(s *Set, asked func(body string) bool) ([]Heard, error) {
	var out []Heard
	var whole *Model // of all that trains, which serves wherever leaving a fold out takes nothing away
	for f := neverIn; f < len(together)+renderedFolds; f++ {
		if f == neverOut {
			continue
		}
		var all, train, test []*Row
		for _, r := range s.Training() {
			if !e.Trains(r.Body) {
				continue
			}
			all = append(all, r)
			if fold(r.Body) != f {
				train = append(train, r)
			}
		}
		for i := range s.Rows {
			if r := &s.Rows[i]; fold(r.Body) == f && r.Variation == 0 && asked(r.Body) {
				test = append(test, r)
			}
		}
		if len(test) == 0 {
			continue
		}
		m := whole
		if m == nil || len(train) < len(all) {
			var err error
			if m, err = e.Recipe.Fit(s, train); err != nil {
				return nil, err
			}
		}
		if len(train) == len(all) {
			whole = m
		}
		for i, p := range m.Probabilities(test) {
			out = append(out, Heard{test[i], tempered(p, test[i], e.Softer)})
		}
	}
	return out, nil
}
