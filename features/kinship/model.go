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

// term is a measure as it is, or how far it lies above a knot.
type term struct {
	measure int
	hinge   bool
	knot    float64
	weight  [hypotheses]float64
}

// model is the table made ready: terms are standardised in it, and what of that does not depend on the measures lies in offset,
// so that a term whose measure lies below its knot adds nothing.
type model struct {
	terms  []term
	offset [hypotheses]float64
}

var learned = readTable(table)

// readTable panics on a table that does not fit Measures: it is part of the program.
func readTable(text string) (out model) {
	index := map[string]int{"bias": -1}
	for i, name := range Measures {
		index[name] = i
	}
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
		var centre, scale float64
		numbers := []*float64{&t.knot, &centre, &scale}
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
		if m < 0 { // the constant
			for k, w := range t.weight {
				out.offset[k] += w
			}
			continue
		}
		for k := range t.weight {
			t.weight[k] /= scale
			out.offset[k] -= t.weight[k] * centre
		}
		out.terms = append(out.terms, t)
	}
	return out
}

// scores are the logits of the hypotheses for a pair seen one way.
func scores(x []float64) [hypotheses]float64 {
	s := learned.offset
	for i := range learned.terms {
		t := &learned.terms[i]
		v := x[t.measure]
		if t.hinge {
			if v -= t.knot; v <= 0 {
				continue
			}
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
