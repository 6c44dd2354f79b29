package kinship

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// The hypotheses about a pair. Copy, sum and return have a direction; for a copy it says which was made from the other.
const (
	hypNone = iota
	hypCopy
	hypSides
	hypSum
	hypReturn
	hypDouble
	hypBleed
	hypotheses
)

// table holds the weights of a multinomial logistic model, the mean of two fits, made by testdata/kinship/train.py: one line per term, which is
// a measure, or how far it lies above a knot, and its weight under each hypothesis.
//
//go:embed model.csv
var table string

type term struct {
	measure       int
	knot          float64
	hinge         bool
	centre, scale float64
	weight        [hypotheses]float64
}

var terms = readTable(table)

// readTable panics on a table that does not fit Measures: it is part of the program.
func readTable(text string) []term {
	index := map[string]int{"bias": -1}
	for i, name := range Measures {
		index[name] = i
	}
	var out []term
	for n, line := range strings.Split(strings.TrimSpace(text), "\n") {
		if n == 0 {
			continue
		}
		f := strings.Split(line, ",")
		m, ok := index[f[0]]
		if !ok || len(f) != 4+hypotheses {
			panic(fmt.Sprintf("kinship: line %d of the model: %q", n+1, line))
		}
		t := term{measure: m, hinge: f[1] != ""}
		numbers := []*float64{&t.knot, &t.centre, &t.scale}
		for k := range t.weight {
			numbers = append(numbers, &t.weight[k])
		}
		for k, v := range f[1:] {
			if v == "" {
				continue
			}
			x, err := strconv.ParseFloat(v, 64)
			if err != nil {
				panic(fmt.Sprintf("kinship: line %d of the model: %v", n+1, err))
			}
			*numbers[k] = x
		}
		out = append(out, t)
	}
	return out
}

// scores are the logits of the hypotheses for a pair seen one way.
func scores(x []float64) (s [hypotheses]float64) {
	for i := range terms {
		t := &terms[i]
		v := 1.0
		if t.measure >= 0 {
			v = x[t.measure]
			if t.hinge {
				v = max(v-t.knot, 0)
			}
			v = (v - t.centre) / t.scale
		}
		for k, w := range t.weight {
			s[k] += w * v
		}
	}
	return s
}

// verdict is the probability of each hypothesis: there, when the second track seen is the derived one, and back.
type verdict struct{ there, back [hypotheses]float64 }

// weigh takes the vectors of a pair seen both ways. Hypotheses without direction have their probability in there.
func weigh(there, back []float64) (v verdict) {
	a, b := scores(there), scores(back)
	top := math.Inf(-1)
	for k := range a {
		if !directed(k) {
			a[k] = (a[k] + b[k]) / 2
			b[k] = math.Inf(-1)
		}
		top = max(top, a[k], b[k])
	}
	var sum float64
	for k := range a {
		v.there[k], v.back[k] = math.Exp(a[k]-top), math.Exp(b[k]-top)
		sum += v.there[k] + v.back[k]
	}
	for k := range a {
		v.there[k] /= sum
		v.back[k] /= sum
	}
	return v
}

func directed(hypothesis int) bool {
	return hypothesis == hypCopy || hypothesis == hypSum || hypothesis == hypReturn
}
