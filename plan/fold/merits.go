package fold

import (
	"math"

	"foldout/cluster"
	"foldout/features"
	"foldout/plan/sheet"
)

// Merits computes figures of merit for many folds of one session. It is safe for use by several goroutines.
type Merits struct {
	s     *Session
	bands [][]float64 // power of each live track in the octave bands, while it sounds
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

// Figures computes the figures of one fold; see Session.FiguresOf.
func (m *Merits) Figures(labels []int, k int) (sheet.Figures, error) {
	f := sheet.Figures{Pairs: make([]sheet.PairFigures, k)}
	f.SetLoudness(nil, sheet.NotMeasured)
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
	m.counts(&f, labels)
	m.overlaps(&f, labels)
	return f, nil
}

// counts fills in how the tracks are shared out.
func (m *Merits) counts(f *sheet.Figures, labels []int) {
	total, fullest := 0, 0
	for _, l := range labels {
		if l >= 0 {
			f.Pairs[l].Tracks++
			total++
		}
	}
	for _, p := range f.Pairs {
		if p.Tracks > 0 {
			f.PairsUsed++
			fullest = max(fullest, p.Tracks)
		}
	}
	f.Crowding = sheet.Round(float64(fullest*len(f.Pairs))/float64(total), 2)
}
