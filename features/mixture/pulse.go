package mixture

import (
	"math"
	"slices"

	"foldout/features/kinship"
)

// Pulse describes short sounds on a grid.
type Pulse struct {
	Hits    int
	PeriodS float64 // of the grid: the shortest common distance
	Jitter  float64 // median distance from the grid, as a share of the period
	Unlike  float64 // how far most hits are from the eighth of the others that is most like them, dB over the bands
	Filled  float64 // share of the grid's places, from the first hit to the last, that hold one
	Pip     bool    // a hit is one line: a tone burst
}

// PulseOf finds the hits of a track in its envelope: peaks at least 12 dB above the quietest of the four frames before, at most
// 30 dB below the loudest.
func PulseOf(s *kinship.Sketch) Pulse {
	n := s.Frames()
	total := make([]float64, n)
	var top float64
	for f := range n {
		for b := range bands {
			if c := s.Envelope[f*bands+b]; c > 0 {
				total[f] += levels[c]
			}
		}
		top = max(top, total[f])
	}
	var at []int
	for f := 1; f < n-1; f++ {
		before := math.Inf(1) // a hit fills two frames, for frames overlap
		for _, v := range total[max(0, f-5):max(0, f-1)] {
			before = min(before, v)
		}
		if math.IsInf(before, 1) {
			before = 0
		}
		if total[f] > top*1e-3 && total[f] > before*16 && total[f] >= total[f-1] && (len(at) == 0 || f-at[len(at)-1] > 3) {
			if total[f+1] > total[f] {
				continue // the peak is the next frame
			}
			at = append(at, f)
		}
	}
	p := Pulse{Hits: len(at)}
	if len(at) < 4 {
		return p
	}
	p.PeriodS, p.Jitter, p.Filled = gridOf(at, s.HopSeconds)
	p.Unlike, p.Pip = alike(s, at)
	return p
}

// gridOf finds the period that the distances between hits are multiples of.
func gridOf(at []int, hop float64) (period, jitter, filled float64) {
	var gaps []float64
	for i := 1; i < len(at); i++ {
		gaps = append(gaps, float64(at[i]-at[i-1]))
	}
	g := median(gaps)
	// The mean over all hits near the grid refines the median of whole frames.
	for range 3 {
		var num, den float64
		for i := 1; i < len(at); i++ {
			k := math.Round(gaps[i-1] / g)
			if k >= 1 && math.Abs(gaps[i-1]-k*g) < 0.2*g {
				num += gaps[i-1]
				den += k
			}
		}
		if den > 0 {
			g = num / den
		}
	}
	var off []float64
	for _, d := range gaps {
		k := max(1, math.Round(d/g))
		off = append(off, max(0, math.Abs(d-k*g)-1)/g) // a frame of doubt
	}
	slices.Sort(off)
	span := float64(at[len(at)-1]-at[0]) / g
	return g * hop, off[len(off)*8/10], float64(len(at)-1) / max(span, 1)
}

// alike compares the bands of the hits at their peaks.
func alike(s *kinship.Sketch, at []int) (unlike float64, pip bool) {
	shapes := make([][bands]float64, len(at))
	narrow := 0
	for i, f := range at {
		var power [bands]float64 // of the hit as a whole, however it lies in the frames
		var loud float64
		for _, g := range []int{f - 1, f, f + 1} {
			for b := range bands {
				if g >= 0 && g < s.Frames() {
					if c := s.Envelope[g*bands+b]; c > 0 {
						power[b] += levels[c]
					}
				}
				loud = max(loud, power[b])
			}
		}
		n := 0
		for b := range bands {
			v := 10 * math.Log10(max(power[b], loud*1e-2)/loud)
			shapes[i][b] = v
			if v > -19.9 {
				n++
			}
		}
		if n <= 5 {
			narrow++
		}
	}
	var nearest []float64
	for i := range shapes {
		var d []float64
		for j := range shapes {
			if i == j {
				continue
			}
			var q float64
			for b := range bands {
				x := shapes[i][b] - shapes[j][b]
				q += x * x
			}
			d = append(d, math.Sqrt(q/bands))
		}
		slices.Sort(d)
		nearest = append(nearest, d[len(d)/8])
	}
	slices.Sort(nearest)
	return nearest[len(nearest)*8/10], narrow*10 > len(at)*8
}
