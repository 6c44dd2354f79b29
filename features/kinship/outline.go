package kinship

import (
	"math"
	"slices"

	"foldout/features/cores"
	"foldout/features/vec"
)

const (
	outlineHop    = 0.2 // seconds
	outlineFrames = 2048
)

// outline is what a quick look at an envelope needs: the mean level of each band while the track sounds, and when it
// sounds on the session's time.
type outline struct {
	level [bands]float64 // dB above code 0; -Inf for bands 50 dB below the loudest
	power []float32      // of each frame re the loudest
}

// outlines draws all tracks on one time grid, from the earliest start to the latest end.
func outlines(sketches []Sketch) []outline {
	begin, end := math.Inf(1), math.Inf(-1)
	for i := range sketches {
		if s := &sketches[i]; s.Frames() > 0 {
			begin = min(begin, s.StartSeconds)
			end = max(end, s.StartSeconds+float64(s.Frames())*s.HopSeconds)
		}
	}
	out := make([]outline, len(sketches))
	hop := max(outlineHop, (end-begin)/outlineFrames)
	n := 0
	if end > begin {
		n = int((end - begin) / hop)
	}
	parallel(cores.Most(), len(sketches), func(_, i int) {
		if sketches[i].Frames() > 0 {
			out[i].draw(sketches[i].padded(begin, hop, n))
		}
	})
	return out
}

func (o *outline) draw(env []uint8) {
	n := len(env) / bands
	for b := range o.level {
		o.level[b] = math.Inf(-1)
	}
	if n == 0 {
		return
	}
	top := vec.PeakBands(env)
	loudest := slices.Max(top[:])
	power := framePowers(env)
	gate := slices.Max(power) * 1e-3
	if !(gate > 0) {
		return
	}
	for b := range bands {
		if int(top[b]) <= max(int(loudest)-bandDepth*codesPerDB, 0) {
			continue
		}
		var sum, count float64
		for f := range n {
			if power[f] > gate {
				sum += envelopePower(env[f*bands+b])
				count++
			}
		}
		if sum > 0 {
			o.level[b] = 10 * math.Log10(sum/count)
		}
	}
	o.power = make([]float32, n)
	for f, p := range power {
		o.power[f] = float32(p / (gate * 1e3))
	}
}

// profile is the mean absolute difference of the bands' levels in dB, the median difference taken off; +Inf without a
// common band.
func (o *outline) profile(p *outline) float64 {
	var diffs [bands]float64
	n := 0
	for b := range bands {
		if d := o.level[b] - p.level[b]; !math.IsInf(d, 0) && !math.IsNaN(d) {
			diffs[n] = d
			n++
		}
	}
	if n == 0 {
		return math.Inf(1)
	}
	return spreadAbout(diffs[:n])
}

// spreadAbout sorts x and gives the mean distance from its median.
func spreadAbout(x []float64) (mean float64) {
	slices.Sort(x)
	for _, v := range x {
		mean += math.Abs(v-x[len(x)/2]) / float64(len(x))
	}
	return mean
}
