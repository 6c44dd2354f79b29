package printcheck

import "math"

// Level-dependent gain: for every 43 ms the gain from fit to print, sorted by the level of the fit. A chain that only
// filters gives a flat line; one that compresses falls to the right.
const (
	curveFrame = 2048 // at up to 50 kHz
	curveLow   = -80.0
	curveStep  = 2.0
	curveBins  = 42
)

type curve struct {
	frame  int
	n      [curveBins]float64
	sum    [curveBins]float64 // of the gain in dB
	square [curveBins]float64
}

func newCurve(rate int) curve { return curve{frame: curveFrame * scaleOf(rate)} }

func (c *curve) reset()      { *c = curve{frame: c.frame} }
func (c *curve) copy() curve { return *c }

func (c *curve) write(u, y [2][]float32) {
	for at := 0; at+c.frame <= len(u[0]); at += c.frame {
		var uu, uy float64
		for s := range 2 {
			for i, v := range u[s][at : at+c.frame] {
				uu += float64(v) * float64(v)
				uy += float64(v) * float64(y[s][at+i])
			}
		}
		level := 10 * math.Log10(uu/float64(2*c.frame))
		bin := int((level - curveLow) / curveStep)
		if uy <= 0 || !(level >= curveLow) || bin >= curveBins {
			continue
		}
		g := 20 * math.Log10(uy/uu)
		c.n[bin]++
		c.sum[bin] += g
		c.square[bin] += g * g
	}
}

func (c *curve) add(o *curve) {
	for i := range c.n {
		c.n[i] += o.n[i]
		c.sum[i] += o.sum[i]
		c.square[i] += o.square[i]
	}
}

// CurvePoint is the gain at one level, beyond the mean gain of the linear path.
type CurvePoint struct {
	LevelDBFS float64 `json:"level_dbfs"` // rms over 43 ms and both sides, of the print as the linear fit has it
	GainDB    float64 `json:"gain_db"`
	CIDB      float64 `json:"ci_db"` // half of the 95 % interval
	Frames    int     `json:"frames"`
}

// curveLeast is the least number of frames for a point.
const curveLeast = 8

func (c *curve) points() []CurvePoint {
	var out []CurvePoint
	for i, n := range c.n {
		if n < curveLeast {
			continue
		}
		mean := c.sum[i] / n
		sd := math.Sqrt(math.Max(0, c.square[i]/n-mean*mean))
		out = append(out, CurvePoint{LevelDBFS: curveLow + (float64(i)+0.5)*curveStep, GainDB: mean, CIDB: 1.96 * sd / math.Sqrt(n/2), Frames: int(n)})
	}
	return out
}

// lift is by how much soft passages are lifted against loud ones, in dB: mean gain of the frames between the 10th and the
// 50th percentile of level, less that of the loudest tenth; and how far below the loud ones the soft ones lie. NaN where
// there is no distance of some decibels between them.
func (c *curve) lift() (db, below float64) {
	const least, closest = 40, 4.0
	var total float64
	for _, n := range c.n {
		total += n
	}
	if total < least {
		return math.NaN(), math.NaN()
	}
	var loud, soft, loudLevel, softLevel, loudN, softN, count float64
	for i, n := range c.n {
		if n == 0 {
			continue
		}
		middle := (count + n/2) / total
		count += n
		at := curveLow + (float64(i)+0.5)*curveStep
		switch {
		case middle >= 0.9 || count == total:
			loud, loudLevel, loudN = loud+c.sum[i], loudLevel+n*at, loudN+n
		case middle >= 0.1 && middle <= 0.5:
			soft, softLevel, softN = soft+c.sum[i], softLevel+n*at, softN+n
		}
	}
	if loudN == 0 || softN == 0 {
		return math.NaN(), math.NaN()
	}
	below = loudLevel/loudN - softLevel/softN
	if below < closest {
		return math.NaN(), below
	}
	return soft/softN - loud/loudN, below
}
