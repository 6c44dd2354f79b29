package printcheck

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"golang.org/x/sync/errgroup"

	"foldout/features/resample"
)

// ErrUnrelated is the error for two files that do not hold the same music.
var ErrUnrelated = errors.New("these two do not hold the same music")

// aligned is what is known of two files once the print has been placed.
type aligned struct {
	*tracker
	course *course
	tie    tie
}

// Least share of the anchors that have to be found, and least number of them: chance finds fewer (see the tests).
const (
	leastShare = 0.25
	leastFound = 3
)

// align places the print on the mix.
func align(ctx context.Context, mix, print string) (*aligned, error) {
	t, err := outlines(ctx, mix, print)
	if err != nil {
		return nil, err
	}
	if t.mixOutline.peak == 0 {
		return nil, fmt.Errorf("%s: found only silence; choose the mix that was sent", mix)
	}
	if t.printOut.peak == 0 {
		return nil, fmt.Errorf("%s: found only silence; was the return armed and routed to the print track?", print)
	}
	spots := place(t.mixOutline, t.printOut)
	var best *course
	for _, spot := range spots {
		c, err := t.follow(ctx, spot, probes)
		if err != nil {
			return nil, err
		}
		if best == nil || c.longest() > best.longest() {
			best = c
		}
		if sure(c) && len(c.anchors) >= leastFound {
			break
		}
	}
	if best == nil || !related(best) {
		return nil, unrelated(mix, print)
	}
	// Once more and densely, along the line the probes found.
	longest := best.segments[0]
	for _, s := range best.segments {
		if s.to-s.from > longest.to-longest.from {
			longest = s
		}
	}
	scale := float64(t.printRate) / float64(t.mixRate)
	c, err := t.follow(ctx, placing{delayS: longest.offset / float64(t.printRate), drift: best.step/scale - 1}, maxAnchors)
	if err != nil {
		return nil, err
	}
	if c.found < best.found {
		c = best
	}
	if err := t.rescue(ctx, c, spots); err != nil {
		return nil, err
	}
	a := &aligned{tracker: t, course: c, tie: tieOf(c.anchors)}
	if err := t.refine(ctx, c, a.tie); err != nil {
		return nil, err
	}
	if err := t.settle(ctx, c, a.tie); err != nil {
		return nil, err
	}
	if len(c.segments) == 0 {
		return nil, unrelated(mix, print)
	}
	return a, nil
}

const (
	probes     = 24
	maxAnchors = 400
)

// longest is the length of the longest segment in frames.
func (c *course) longest() (n int64) {
	for _, s := range c.segments {
		n = max(n, s.to-s.from)
	}
	return n
}

// sure reports a place that needs no other to compare with.
func sure(c *course) bool {
	return len(c.segments) == 1 && c.found > 0 && 5*c.found >= 4*len(c.anchors)
}

func related(c *course) bool {
	least := leastFound
	if len(c.anchors) < least {
		least = max(1, len(c.anchors))
	}
	return c.found >= least && float64(c.found) >= leastShare*float64(len(c.anchors)) && len(c.segments) > 0
}

func unrelated(mix, print string) error {
	return fmt.Errorf("%s and %s: %w; compare wants the mix that was sent and the recording of its return", filepath.Base(mix), filepath.Base(print), ErrUnrelated)
}

// outlines opens both files and reads their outlines.
func outlines(ctx context.Context, mix, print string) (*tracker, error) {
	t := &tracker{mix: mix, print: print}
	m, err := open(mix)
	if err != nil {
		return nil, err
	}
	defer m.close() //nolint:errcheck // opened for reading
	p, err := open(print)
	if err != nil {
		return nil, err
	}
	defer p.close() //nolint:errcheck // opened for reading
	t.mixFrames, t.mixRate, t.printFrames, t.printRate = m.frames, m.rate, p.frames, p.rate
	const least = 0.5
	for _, f := range []*source{m, p} {
		if s := float64(f.frames) / float64(f.rate); s < least {
			return nil, fmt.Errorf("%s: found %.2f s of audio; at least %g s are needed to compare", f.r.Info().Path, s, least)
		}
	}
	t.kernel = resample.New(float64(p.rate) / float64(m.rate))
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() (err error) { t.mixOutline, err = outlineOf(ctx, m); return })
	group.Go(func() (err error) { t.printOut, err = outlineOf(ctx, p); return })
	if err := group.Wait(); err != nil {
		return nil, err
	}
	scale := scaleOf(m.rate)
	t.block = anchorSize*scale - 2*anchorReach*scale
	return t, nil
}

// driftPPM is by how much the print is too long.
func (a *aligned) driftPPM() float64 {
	return (a.course.step*float64(a.mixRate)/float64(a.printRate) - 1) * 1e6
}

// delaySamples is where the mix's first frame lies in the print, in samples of the mix, by the first segment.
func (a *aligned) delaySamples() float64 {
	return a.course.segments[0].offset * float64(a.mixRate) / float64(a.printRate)
}
