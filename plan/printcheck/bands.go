package printcheck

import "math"

// Third octaves after IEC 61260-1:2014: exact middle 1000 G^(x/3) Hz, edges a sixth of an octave (in G) either side, with
// G = 10^(3/10).
const (
	lowestBand  = -17 // 20 Hz
	highestBand = 13  // 20 kHz
)

var nominalHz = []float64{20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000,
	2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000} // ISO 266

func bandEdges(i int) (low, high float64) {
	x := float64(lowestBand + i)
	return 1000 * math.Pow(10, 0.1*(x-0.5)), 1000 * math.Pow(10, 0.1*(x+0.5))
}

// band is a third octave as lines of a spectrum: line first+i counts with weight[i], its share inside the band.
type band struct {
	hz        float64
	low, high float64
	first     int
	weight    []float64
}

// bandsOf lists the third octaves that lie below half of both sampling rates.
func bandsOf(size int, rate, printRate int) []band {
	df := float64(rate) / float64(size)
	limit := math.Min(float64(rate), float64(printRate)) / 2
	var all []band
	for i, hz := range nominalHz {
		low, high := bandEdges(i)
		if high > limit*1.02 {
			break
		}
		b := band{hz: hz, low: low, high: high, first: int(low/df + 0.5)}
		for k := b.first; k <= size/2; k++ {
			from, to := (float64(k)-0.5)*df, (float64(k)+0.5)*df
			w := (math.Min(to, high) - math.Max(from, low)) / df
			if w <= 0 {
				break
			}
			b.weight = append(b.weight, w)
		}
		all = append(all, b)
	}
	return all
}

// sum adds up a spectrum inside a band.
func bandSum[T float32 | float64](b band, s []T) (sum float64) {
	for i, w := range b.weight {
		sum += w * float64(s[b.first+i])
	}
	return sum
}
