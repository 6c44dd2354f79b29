package align

import (
	"math"
	"slices"
)

// Point is a delay measured at a time.
type Point struct {
	At    float64 // where, in samples of x
	Delay float64 // samples
	Sigma float64 // standard error of Delay, > 0; smaller counts more
}

// Line is a delay that grows evenly: Delay + PPM 1e-6 (at - Origin).
type Line struct {
	Origin, Delay float64 // samples
	PPM           float64 // drift, positive when y is too long
	SigmaPPM      float64 // standard error of PPM
	Spread        float64 // rms of the points kept around the line, samples
	Kept          int     // points that fitted; the others lie off the line
}

// At is the delay at a place in samples of x.
func (l Line) At(at float64) float64 { return l.Delay + l.PPM*1e-6*(at-l.Origin) }

// FitLine finds the line through delays at several times. Theil's median of slopes comes first, then least squares over
// the points within limit samples of it (or five times what is usual among them, where that is more), so that a few
// wrong ones do no harm. No points give the zero Line; one point gives no drift.
func FitLine(points []Point, limit float64) Line {
	if len(points) == 0 {
		return Line{}
	}
	var slopes, rest []float64
	for i, p := range points {
		for _, q := range points[:i] {
			if p.At != q.At {
				slopes = append(slopes, (p.Delay-q.Delay)/(p.At-q.At))
			}
		}
	}
	slope := Median(slopes)
	for _, p := range points {
		rest = append(rest, p.Delay-slope*p.At)
	}
	base := Median(rest)
	for i := range rest {
		rest[i] = math.Abs(rest[i] - base)
	}
	limit = max(limit, 5*1.4826*Median(rest))
	var kept []Point
	for _, p := range points {
		if math.Abs(p.Delay-slope*p.At-base) <= limit {
			kept = append(kept, p)
		}
	}
	return leastSquares(kept)
}

func leastSquares(points []Point) Line {
	var sw, sx, sy float64
	for _, p := range points {
		w := 1 / (p.Sigma * p.Sigma)
		sw, sx, sy = sw+w, sx+w*p.At, sy+w*p.Delay
	}
	l := Line{Origin: sx / sw, Delay: sy / sw, Kept: len(points)}
	var xx, xy float64
	for _, p := range points {
		w := 1 / (p.Sigma * p.Sigma)
		xx += w * (p.At - l.Origin) * (p.At - l.Origin)
		xy += w * (p.At - l.Origin) * (p.Delay - l.Delay)
	}
	if xx > 0 {
		l.PPM = 1e6 * xy / xx
		l.SigmaPPM = 1e6 / math.Sqrt(xx)
	}
	square := 0.0
	for _, p := range points {
		d := p.Delay - l.At(p.At)
		square += d * d
	}
	l.Spread = math.Sqrt(square / float64(len(points)))
	return l
}

// Median is the middle value, the mean of the two middle ones of an even number, 0 of none. x stays as it is.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := slices.Clone(x)
	slices.Sort(s)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}
