package portrait

import (
	"fmt"

	"foldout/features/align"
	"foldout/plan/curves"
	"foldout/plan/linecheck/trace"
)

// responses draws the response of every output that is alive.
func responses(r *trace.Result) *curves.Chart {
	var all []float64
	for _, c := range r.Channels {
		for _, p := range c.Response {
			if p.Hz >= 25 && p.Hz <= 18000 {
				all = append(all, float64(p.DB))
			}
		}
	}
	limit := curves.Reach(all, 2, 3, 6, 12, 24)
	c := curves.Frequency("Frequency response of every output", "dB relative to 1 kHz; frequency in Hz", -limit, limit, limit/4)
	for n, ch := range r.Channels {
		add(c, fmt.Sprint(ch.Output), n, ch.Response)
	}
	return c
}

func add(c *curves.Chart, name string, n int, points []trace.Point) {
	var xs, ys []float64
	for _, p := range points {
		xs, ys = append(xs, p.Hz), append(ys, float64(p.DB))
	}
	c.Add(name, n, xs, ys)
}

// harmonics draws the middle of the outputs' harmonics.
func harmonics(r *trace.Result) *curves.Chart {
	c := curves.Frequency("Harmonics 2 to 5 over the frequency of the fundamental, the middle of all outputs", "dB relative to the fundamental; frequency in Hz", -120, 0, 20)
	for n, order := range []int{2, 3, 4, 5} {
		add(c, fmt.Sprintf("H%d", order), n, middleHarmonic(r, order))
	}
	return c
}

// middleHarmonic is the middle of the outputs' curves of one order.
func middleHarmonic(r *trace.Result, order int) []trace.Point {
	byHz := map[float64][]float64{}
	var grid []float64
	for _, ch := range r.Channels {
		for _, h := range ch.Harmonics {
			if h.Order != order {
				continue
			}
			for _, p := range h.Points {
				if byHz[p.Hz] == nil {
					grid = append(grid, p.Hz)
				}
				byHz[p.Hz] = append(byHz[p.Hz], float64(p.DB))
			}
		}
	}
	var out []trace.Point
	for _, hz := range grid {
		out = append(out, point(hz, align.Median(byHz[hz])))
	}
	return out
}
