package timbre

import (
	"math"
	"math/bits"
)

// cells finds the largest number in each of many overlapping stretches of a row. The largest of 1, 2, 4 ... neighbours
// is found for all places at once, and a stretch is covered by two of these.
type cells struct {
	top    []float32 // the result, one value a stretch; 0 for an empty one
	levels []level
}

// level l holds the stretches that two overlapping runs of 2^l numbers cover.
type level struct {
	lowest int // first place looked up in this level or a higher one
	spans  []span
}

// span is a stretch: the runs that begin at a and b cover it.
type span struct{ cell, a, b int32 }

// append adds the stretch from..to-1.
func (c *cells) append(from, to int) {
	cell := len(c.top)
	c.top = append(c.top, 0)
	if from >= to {
		return
	}
	l := bits.Len(uint(to-from)) - 1
	for len(c.levels) <= l {
		c.levels = append(c.levels, level{lowest: math.MaxInt})
	}
	c.levels[l].spans = append(c.levels[l].spans, span{int32(cell), int32(from), int32(to - 1<<l)})
	for i := range l + 1 {
		c.levels[i].lowest = min(c.levels[i].lowest, from)
	}
}

// fill finds the largest of each stretch of row, which holds non-negative numbers as their bits and is used up.
func (c *cells) fill(row []uint32) {
	for l := range c.levels {
		v := &c.levels[l]
		if l > 0 {
			// row[k] becomes the largest of 2^l numbers from k on; near the end, of those there are
			half := 1 << (l - 1)
			near := row[min(v.lowest, len(row)-half):]
			far := near[half:]
			near = near[:len(far)]
			for i, n := range near {
				near[i] = max(n, far[i])
			}
		}
		for _, s := range v.spans {
			c.top[s.cell] = math.Float32frombits(max(row[s.a], row[s.b]))
		}
	}
}
