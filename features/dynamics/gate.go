package dynamics

import "math"

// The gate decides when a track sounds. Levels are mean squares without the mean of 50 ms stretches, averaged over the channels.
const (
	absoluteGateDB = -70 // opens above; after the absolute gate of BS.1770
	relativeGateDB = -30 // opens above this, re the track's own level
	hysteresisDB   = 6   // closes this far below
	holdStretches  = 20  // gaps shorter than this many stretches (1 s) belong to the phrase
)

// levelBins are 0.1 dB wide from -150 dBFS.
const (
	levelBins = 2000
	lowestDB  = -150.0
	binsPerDB = 10.0

	noiseShare    = 0.05
	noiseLowestDB = -130 // less is a fade-out on its way to digital silence
)

// gate collects what is needed to gate with a threshold that is known only at the end.
//
// Hysteresis without knowing the threshold: of all thresholds, those below the level of a stretch open, those more than
// hysteresisDB above it close, the others stay. The open ones are thus always those up to one level, and that level
// moves as clamp(before, level, level+hysteresisDB). A histogram of it gives the open time for any threshold exactly.
type gate struct {
	weight    [levelBins]float64 // samples at a level
	energy    [levelBins]float64 // energy at a level
	open      [levelBins]float64 // samples at a hysteresis level
	phrase    [levelBins]float64 // samples at the highest hysteresis level of the last second
	channels  [][levelBins]float64
	level     float64 // hysteresis level in dB
	recent    [holdStretches]float64
	stretches int
	samples   float64
	loudest   float64 // mean square
}

func newGate(channels int) *gate {
	g := &gate{channels: make([][levelBins]float64, channels), level: lowestDB}
	for i := range g.recent {
		g.recent[i] = lowestDB
	}
	return g
}

func levelBin(db float64) int {
	return int(min(max((db-lowestDB)*binsPerDB, 0), levelBins-1))
}

// add takes one stretch of n samples: power without offset, averaged over the channels, and the sum of squares by channel.
func (g *gate) add(n int, power float64, squares []float64) {
	db := lowestDB
	if power > 0 {
		db = max(10*math.Log10(power), lowestDB)
		b := levelBin(db)
		g.weight[b] += float64(n)
		g.energy[b] += float64(n) * power
		g.loudest = max(g.loudest, power)
	}
	g.samples += float64(n)
	g.level = min(max(g.level, db), db+hysteresisDB)
	b := levelBin(g.level)
	g.open[b] += float64(n)
	for c := range g.channels {
		g.channels[c][b] += squares[c]
	}
	g.recent[g.stretches%holdStretches] = g.level
	g.stretches++
	held := lowestDB
	for _, l := range g.recent {
		held = max(held, l)
	}
	g.phrase[levelBin(held)] += float64(n)
}

// threshold is the level that opens the gate: relativeGateDB below the level where half of the track's energy is in
// louder stretches, so that it does not depend on how much of the time the track plays; never below absoluteGateDB.
func (g *gate) threshold() float64 {
	total := 0.0
	for _, e := range g.energy {
		total += e
	}
	above := 0.0
	for b := levelBins - 1; b >= 0; b-- {
		above += g.energy[b]
		if total > 0 && above >= total/2 {
			return max(lowestDB+(float64(b)+0.5)/binsPerDB+relativeGateDB, absoluteGateDB)
		}
	}
	return absoluteGateDB
}

// above sums the bins of h from the threshold up.
func above(h *[levelBins]float64, db float64) float64 {
	sum := 0.0
	for b := int(math.Ceil((db - lowestDB) * binsPerDB)); b < levelBins; b++ {
		sum += h[b]
	}
	return sum
}

// noiseFloor is the level that a twentieth of the stretches stay below, those below noiseLowestDB left out.
func (g *gate) noiseFloor() float64 {
	h := g.weight[levelBin(noiseLowestDB):]
	total := 0.0
	for _, w := range h {
		total += w
	}
	sum := 0.0
	for b, w := range h {
		sum += w
		if w > 0 && sum >= noiseShare*total {
			return noiseLowestDB + (float64(b)+0.5)/binsPerDB
		}
	}
	return math.Inf(-1)
}
