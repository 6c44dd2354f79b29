package printcheck

import (
	"cmp"
	"context"
	"math"
	"slices"

	"foldout/features/resample"
)

// segment is a stretch of the mix that the print holds without a break: mix frames from..to lie at offset + frame * step.
type segment struct {
	from, to int64
	offset   float64
}

// course is where the whole mix lies in the print.
type course struct {
	step     float64 // print frames a mix frame, the same for all segments: one clock
	segments []segment
	anchors  []anchor // all that were tried, in order of time
	found    int      // of them
}

func (c *course) line(s segment) line { return line{s.offset, c.step} }

// frames of the mix that are compared.
func (c *course) frames() (n int64) {
	for _, s := range c.segments {
		n += s.to - s.from
	}
	return n
}

// tracker follows a print along its mix.
type tracker struct {
	mix, print           string
	mixFrames            int64
	printFrames          int64
	mixRate, printRate   int
	mixOutline, printOut *outline
	kernel               *resample.Kernel
	block                int        // frames of an anchor
	missing              [][2]int64 // stretches of the mix that were sought in vain
}

// follow measures anchors along a first guess and makes a course of them. A course with few anchors found says that the
// two do not belong together.
func (t *tracker) follow(ctx context.Context, p placing, most int) (*course, error) {
	l := line{offset: p.delayS * float64(t.printRate), step: float64(t.printRate) / float64(t.mixRate) * (1 + p.drift)}
	c := &course{}
	for range 3 {
		from, to := t.overlap(l, 0, t.mixFrames)
		c.step = l.step
		var err error
		c.anchors, err = survey(ctx, t.mix, t.print, t.kernel, t.starts(from, to, most), func(int64) line { return l })
		if err != nil {
			return nil, err
		}
		slope := typicalSlope(c.heard())
		if math.Abs(slope)*float64(t.block) < 0.5 || math.Abs(slope) > 2*maxDriftPPM*1e-6 {
			break
		}
		// So fast or slow a print is smeared within a block: measure again along the better line.
		middle := float64(from+to) / 2
		late := middleLate(c.heard(), slope, middle)
		l = line{offset: l.offset + l.step*(late-slope*middle), step: l.step * (1 + slope)}
	}
	c.fit(l, t)
	return c, nil
}

// heard lists the anchors that were found.
func (c *course) heard() []anchor {
	return slices.DeleteFunc(slices.Clone(c.anchors), func(a anchor) bool { return !a.found() })
}

// middleLate is the middle of how late the anchors are, all carried to one frame of the mix by the slope.
func middleLate(a []anchor, slope, at float64) float64 {
	all := make([]float64, len(a))
	for i, x := range a {
		all[i] = x.late + slope*(at-x.mix)
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// overlap is the part of mix frames from..to that the print holds by the line.
func (t *tracker) overlap(l line, from, to int64) (int64, int64) {
	first := int64(math.Ceil(-l.offset / l.step))
	last := int64(math.Floor((float64(t.printFrames) - l.offset) / l.step))
	return max(from, first), min(to, last)
}

// starts spreads anchors over a stretch of the mix, at most so many, and leaves out what is silent or nearly so.
func (t *tracker) starts(from, to int64, most int) []int64 {
	room := to - from - int64(t.block)
	if room < 0 {
		if to-from < int64(t.block)/4 {
			return nil
		}
		return []int64{from}
	}
	spacing := max(int64(t.block)/4, min(int64(t.mixRate), room/24), room/int64(most))
	var sum float64
	for _, e := range t.mixOutline.energy {
		sum += float64(e)
	}
	floor := sum / float64(len(t.mixOutline.energy)) * 1e-6
	var all []int64
	for at := from; at <= from+room; at += spacing {
		if t.energy(at, at+int64(t.block)) > floor {
			all = append(all, at)
		}
	}
	return all
}

// energy is the mean square of the mix between two frames, from its outline.
func (t *tracker) energy(from, to int64) float64 {
	perFrame := float64(outlineHz) / float64(t.mixRate)
	i := min(int(float64(from)*perFrame), t.mixOutline.frames()-1)
	j := min(max(int(float64(to)*perFrame), i+1), t.mixOutline.frames())
	var sum float64
	for _, e := range t.mixOutline.energy[i:j] {
		sum += float64(e)
	}
	return sum / float64(j-i)
}

// jump is how far, in samples at 48 kHz, the place may leave the line before it counts as an edit.
const jump = 1.5

// fit makes segments of the anchors, which were sought along l.
func (c *course) fit(l line, t *tracker) {
	found := c.heard()
	slope := typicalSlope(found)
	tolerance := jump * float64(scaleOf(t.mixRate))
	groups := cluster(found, slope, tolerance)
	c.found = 0
	for _, g := range groups {
		c.found += len(g)
	}
	c.segments = nil
	if len(groups) == 0 {
		return
	}
	slope, lates := regress(groups)
	c.step = l.step * (1 + slope)
	for i, g := range groups {
		s := segment{offset: l.offset + lates[i]*l.step}
		s.from, s.to = int64(g[0].mix)-int64(t.block)/2, int64(g[len(g)-1].mix)+int64(t.block)/2
		c.segments = append(c.segments, s)
	}
	c.forward()
}

// forward drops segments that would make the print run backwards, as a repeated bar may pretend: of two that hold the same
// stretch of the print the longer stays.
func (c *course) forward() {
	for {
		worst := -1
		for i := 1; i < len(c.segments); i++ {
			a, b := c.segments[i-1], c.segments[i]
			if c.line(a).at(float64(a.to)) > c.line(b).at(float64(b.from))+0.5*float64(b.to-b.from) ||
				c.line(b).at(float64(b.from)) < c.line(a).at(float64(a.from))+0.5*float64(a.to-a.from) {
				worst = i
				if a.to-a.from < b.to-b.from {
					worst = i - 1
				}
				break
			}
		}
		if worst < 0 {
			return
		}
		c.segments = slices.Delete(c.segments, worst, worst+1)
	}
}

// typicalSlope is the middle slope between neighbours: how much later the print gets, in frames a frame. Edits are few, so
// they do not move it.
func typicalSlope(a []anchor) float64 {
	var all []float64
	for i := 1; i < len(a); i++ {
		j := min(len(a)-1, i+2)
		if d := a[j].mix - a[i-1].mix; d > 0 {
			all = append(all, (a[j].late-a[i-1].late)/d)
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// cluster groups anchors that lie on one line of the slope; an anchor that agrees with neither neighbour is dropped.
func cluster(all []anchor, slope, tolerance float64) [][]anchor {
	level := func(a anchor) float64 { return a.late - slope*a.mix }
	var groups [][]anchor
	var now []anchor
	near := func(x anchor, g []anchor) bool {
		tail := g[max(0, len(g)-5):]
		levels := make([]float64, len(tail))
		for i, a := range tail {
			levels[i] = level(a)
		}
		slices.Sort(levels)
		return math.Abs(level(x)-levels[len(levels)/2]) <= tolerance
	}
	for i, a := range all {
		switch {
		case len(now) > 0 && near(a, now):
			now = append(now, a)
		case i+1 < len(all) && math.Abs(level(a)-level(all[i+1])) <= tolerance || len(all) <= 2:
			if len(now) > 0 {
				groups = append(groups, now)
			}
			now = []anchor{a}
		}
	}
	if len(now) > 0 {
		groups = append(groups, now)
	}
	groups = slices.DeleteFunc(groups, func(g []anchor) bool { return len(g) < 2 && len(all) > 2 })
	return join(groups, level, tolerance)
}

// join puts neighbouring groups together that lie on one line after all: what stood between them was a false place.
func join(groups [][]anchor, level func(anchor) float64, tolerance float64) [][]anchor {
	var out [][]anchor
	for _, g := range groups {
		if n := len(out); n > 0 {
			last := out[n-1]
			if math.Abs(level(g[0])-level(last[len(last)-1])) <= tolerance {
				out[n-1] = append(last, g...)
				continue
			}
		}
		out = append(out, g)
	}
	return out
}

// regress fits one slope and an intercept for each group, by least squares with Huber's weights.
func regress(groups [][]anchor) (slope float64, intercepts []float64) {
	intercepts = make([]float64, len(groups))
	weights := make([][]float64, len(groups))
	for i, g := range groups {
		weights[i] = make([]float64, len(g))
		for j := range g {
			weights[i][j] = 1
		}
	}
	for range 10 {
		var sxx, sxy float64
		means := make([][2]float64, len(groups))
		for i, g := range groups {
			var w, x, y float64
			for j, a := range g {
				w, x, y = w+weights[i][j], x+weights[i][j]*a.mix, y+weights[i][j]*a.late
			}
			x, y = x/w, y/w
			means[i] = [2]float64{x, y}
			for j, a := range g {
				sxx += weights[i][j] * (a.mix - x) * (a.mix - x)
				sxy += weights[i][j] * (a.mix - x) * (a.late - y)
			}
		}
		slope = 0
		if sxx > 0 {
			slope = sxy / sxx
		}
		var off []float64
		for i, g := range groups {
			intercepts[i] = means[i][1] - slope*means[i][0]
			for _, a := range g {
				off = append(off, math.Abs(a.late-intercepts[i]-slope*a.mix))
			}
		}
		slices.Sort(off)
		limit := max(2*off[len(off)/2], 1e-4)
		for i, g := range groups {
			for j, a := range g {
				weights[i][j] = 1
				if d := math.Abs(a.late - intercepts[i] - slope*a.mix); d > limit {
					weights[i][j] = limit / d
				}
			}
		}
	}
	return slope, intercepts
}

// sortSegments puts segments in the order of the mix.
func sortSegments(s []segment) {
	slices.SortFunc(s, func(a, b segment) int { return cmp.Compare(a.from, b.from) })
}
