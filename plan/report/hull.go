package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

type point struct{ X, Y float64 }

// hull is the convex hull of points, counter-clockwise where y grows upwards, without repeated or collinear points
// (monotone chain, Andrew 1979, Inf. Process. Lett. 9). One point gives itself, points on a line the two ends.
func hull(points []point) []point {
	p := slices.Clone(points)
	slices.SortFunc(p, func(a, b point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	p = slices.Compact(p)
	if len(p) < 3 {
		return p
	}
	half := func(p []point) (h []point) {
		for _, q := range p {
			for len(h) > 1 && cross(h[len(h)-2], h[len(h)-1], q) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		return h[:len(h)-1]
	}
	lower := half(p)
	slices.Reverse(p)
	return append(lower, half(p)...)
}

func cross(o, a, b point) float64 { return (a.X-o.X)*(b.Y-o.Y) - (a.Y-o.Y)*(b.X-o.X) }

// outline draws a convex hull, widened by r with round corners, as a closed SVG path. No points give no path.
func outline(h []point, r float64) string {
	switch len(h) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("M%.1f %.1f a%g %g 0 1 1 %g 0 a%g %g 0 1 1 %g 0 Z", h[0].X-r, h[0].Y, r, r, 2*r, r, r, -2*r)
	}
	var b strings.Builder
	for i, a := range h {
		c := h[(i+1)%len(h)]
		long := math.Hypot(c.X-a.X, c.Y-a.Y)
		nx, ny := r*(c.Y-a.Y)/long, -r*(c.X-a.X)/long // outward, for this sense of rotation
		if i == 0 {
			fmt.Fprintf(&b, "M%.1f %.1f", a.X+nx, a.Y+ny)
		}
		fmt.Fprintf(&b, " L%.1f %.1f", c.X+nx, c.Y+ny)
		e := h[(i+2)%len(h)]
		long = math.Hypot(e.X-c.X, e.Y-c.Y)
		fmt.Fprintf(&b, " A%g %g 0 0 1 %.1f %.1f", r, r, c.X+r*(e.Y-c.Y)/long, c.Y-r*(e.X-c.X)/long)
	}
	return b.String() + " Z"
}
