package fold

import (
	"hash/fnv"
	"math"

	"foldout/cluster"
	"foldout/features"
	"foldout/features/spectrum"
	"foldout/plan/intermod"
	"foldout/plan/sheet"
)

// Merits computes figures of merit for many folds of one session. It is safe for use by several goroutines.
type Merits struct {
	s         *Session
	bands     [][]float64 // power of each live track in the octave bands, while it sounds
	loudness  []float64   // power of each live track's integrated loudness
	materials []*intermod.Material
}

// Merits returns what the figures of all folds of the session share; the first call prepares it.
func (s *Session) Merits() *Merits {
	if s.merits == nil { // a session that Prepare did not make
		return s.makeMerits()
	}
	return s.merits()
}

func (s *Session) makeMerits() *Merits {
	m := &Merits{s: s}
	for _, i := range s.Live {
		p := &s.Tracks[i].Profile
		m.bands = append(m.bands, BandPowers(p))
		m.loudness = append(m.loudness, power(float64(p.IntegratedLUFS)))
		m.materials = append(m.materials, material(p))
	}
	return m
}

// power turns decibels into a ratio; what is not finite counts as 0.
func power(db float64) float64 {
	if math.IsNaN(db) || math.IsInf(db, 0) {
		return 0
	}
	return math.Pow(10, db/10)
}

func Decibels(ratio float64) float64 {
	if ratio <= 0 {
		return math.Inf(-1)
	}
	return 10 * math.Log10(ratio)
}

// BandPowers are the mean squares of a track in the ten octave bands while it sounds.
func BandPowers(p *features.Profile) []float64 {
	out := make([]float64, len(p.OctaveDB))
	for b, level := range p.OctaveDB {
		out[b] = power(float64(p.ActiveRMSDBFS)) * power(float64(level))
	}
	return out
}

// material makes the stand-in of a track for the intermodulation channel. Tracks of equal spectrum get equal material,
// as copies should.
func material(p *features.Profile) *intermod.Material {
	seed := fnv.New64a()
	var octaves []intermod.Octave
	for b, w := range BandPowers(p) {
		centre := spectrum.OctaveNominalHz[b]
		octaves = append(octaves, intermod.Octave{LowHz: centre / math.Sqrt2, HighHz: centre * math.Sqrt2, Power: w})
		level := int64(math.MinInt32)
		if w > 0 {
			level = int64(math.Round(10 * float64(p.OctaveDB[b])))
		}
		for shift := 0; shift < 64; shift += 8 {
			seed.Write([]byte{byte(level >> shift)}) //nolint:errcheck // a hash does not fail
		}
	}
	return intermod.Make(octaves, seed.Sum64())
}

// Figures computes the figures of one fold; see Session.FiguresOf.
func (m *Merits) Figures(labels []int, k int) (sheet.Figures, error) {
	f := sheet.Figures{Pairs: make([]sheet.PairFigures, k)}
	x, on, _ := m.s.folded(labels)
	if len(on) == 0 {
		return f, nil
	}
	spread, err := m.s.Spread(labels)
	if err != nil {
		return f, err
	}
	f.WithinSpread = sheet.Round(spread, 4)
	sil, err := cluster.Silhouette(x, on)
	if err != nil {
		return f, err
	}
	f.Silhouette = sheet.Round(sil.Mean, 3)
	m.levels(&f, labels)
	m.overlaps(&f, labels)
	m.exposures(&f, labels)
	return f, nil
}

// levels fills in counts and loudness.
func (m *Merits) levels(f *sheet.Figures, labels []int) {
	sums := make([]float64, len(f.Pairs))
	var all, most float64
	least := math.Inf(1)
	total, fullest := 0, 0
	for p, l := range labels {
		if l >= 0 {
			f.Pairs[l].Tracks++
			total++
			sums[l] += m.loudness[p]
			all += m.loudness[p]
		}
	}
	for l, sum := range sums {
		f.Pairs[l].LoudnessLUFS = features.DB(math.Round(10*Decibels(sum)) / 10)
		if f.Pairs[l].Tracks == 0 {
			continue
		}
		f.PairsUsed++
		fullest = max(fullest, f.Pairs[l].Tracks)
		if sum > 0 {
			most, least = max(most, sum), min(least, sum)
		}
	}
	f.Crowding = sheet.Round(float64(fullest*len(f.Pairs))/float64(total), 2)
	if most > 0 {
		f.LevelSpreadDB = sheet.Round(Decibels(most/least), 1)
		f.LoudestPairDB = sheet.Round(Decibels(most/all), 1)
	}
}

// exposures fills in what the summing channel adds.
func (m *Merits) exposures(f *sheet.Figures, labels []int) {
	channel := intermod.Generic()
	var shared, outside float64
	for l := range f.Pairs {
		var tracks []*intermod.Material
		for p, q := range labels {
			if q == l {
				tracks = append(tracks, m.materials[p])
			}
		}
		e := channel.Of(tracks)
		f.Pairs[l].IntermodulationDB = features.DB(math.Round(10*e.SharedDB) / 10)
		f.Pairs[l].OutsideBandsDB = features.DB(math.Round(10*e.OutsideDB) / 10)
		shared += power(e.SharedDB)
		outside += power(e.OutsideDB)
	}
	used := float64(f.PairsUsed)
	f.IntermodulationDB = features.DB(math.Round(10*Decibels(shared/used)) / 10)
	f.OutsideBandsDB = features.DB(math.Round(10*Decibels(outside/used)) / 10)
}
