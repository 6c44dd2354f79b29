package lesson

import (
	"math"
	"math/rand/v2"
	"slices"

	"foldout/plan/channel"
	"foldout/plan/sheet"
)

// shuffles is the number of folds with shuffled tracks that the fold is compared with.
const shuffles = 8

// Lesson is what one session teaches of shared channels.
type Lesson struct {
	Title                                         string
	StartS                                        float64 // of the excerpt
	Names                                         []string
	SecondPC                                      float64 // harmonics of the channel for a sine at the operating level, %
	ThirdPC                                       float64
	Tracks                                        []Track // that sound long enough, pair by pair, the most modulated first
	Added                                         Unmasked
	Shuffled                                      Unmasked // with tracks shuffled over pairs of the same sizes: the middle of several
	Drives                                        []Drive  // ascending
	MattersFastDB, MattersSwingDB, MattersAddedDB float64  // drive re the operating level from which it begins to be heard; +Inf beyond what was tried
}

// Track is one track's part.
type Track struct {
	Name     string
	Role     string
	Pair     int // from 1
	Here     Modulated
	Shuffled Modulated // the middle of the shuffled folds
}

// Drive is what happens when all pairs are driven harder.
type Drive struct {
	DriveDB  float64
	Fast     float64 // modulation index of the track that is modulated most
	SwingDB  float64 // likewise
	RatioDB  float64 // added to masked threshold
	Shuffled float64 // the same for the shuffled folds, the middle of them
}

// The drives that are tried, in dB re the operating level.
const (
	leastDriveDB = -6.0
	mostDriveDB  = 12.0 // beyond, the polynomial bends the highest peaks over
	driveStepDB  = 3.0
)

// Teach computes the lesson for a sheet of the excerpt's tracks.
func Teach(e *Excerpt, doc *sheet.Sheet) *Lesson {
	c := channel.Generic()
	l := &Lesson{Title: doc.Title, StartS: e.StartS, Names: e.Names, SecondPC: 100 * math.Pow(10, channel.SecondDB/20), ThirdPC: 100 * math.Pow(10, channel.ThirdDB/20)}
	rng := rand.New(rand.NewPCG(doc.Settings.Seed, 0))
	var others [][]int
	for range shuffles {
		pair := slices.Clone(e.Pair)
		rng.Shuffle(len(pair), func(a, b int) { pair[a], pair[b] = pair[b], pair[a] })
		others = append(others, pair)
	}
	l.tracks(e, doc, others, c)
	l.Added, l.Shuffled = e.Unmasked(e.Pair, e.Pairs, c, 0), middleUnmasked(e, others, c, 0)
	for drive := leastDriveDB; drive <= mostDriveDB; drive += driveStepDB {
		d := Drive{DriveDB: drive, RatioDB: e.Unmasked(e.Pair, e.Pairs, c, drive).RatioDB, Shuffled: middleUnmasked(e, others[:3], c, drive).RatioDB}
		for _, m := range e.Modulation(e.Pair, e.Pairs, c, drive) {
			d.Fast, d.SwingDB = max(d.Fast, m.Fast), max(d.SwingDB, m.SwingDB)
		}
		l.Drives = append(l.Drives, d)
	}
	l.MattersFastDB = l.matters(func(d *Drive) float64 { return decibels(d.Fast / HeardFrom) })
	l.MattersSwingDB = l.matters(func(d *Drive) float64 { return decibels(d.SwingDB / HeardFromDB) })
	l.MattersAddedDB = l.matters(func(d *Drive) float64 { return d.RatioDB })
	return l
}

// tracks fills in what each track suffers here and elsewhere.
func (l *Lesson) tracks(e *Excerpt, doc *sheet.Sheet, others [][]int, c channel.Channel) {
	here := e.Modulation(e.Pair, e.Pairs, c, 0)
	var elsewhere [][]Modulated
	for _, pair := range others {
		elsewhere = append(elsewhere, e.Modulation(pair, e.Pairs, c, 0))
	}
	role := map[string]string{}
	for _, p := range doc.Pairs {
		for _, t := range p.Tracks {
			role[t.File] = t.Role
		}
	}
	for t, m := range here {
		if !m.Sounds {
			continue
		}
		var swing, fast []float64
		for _, o := range elsewhere {
			swing, fast = append(swing, o[t].SwingDB), append(fast, o[t].Fast)
		}
		l.Tracks = append(l.Tracks, Track{Name: sheet.TrackName(e.Files[t]), Role: role[e.Files[t]], Pair: e.Pair[t] + 1, Here: m,
			Shuffled: Modulated{Sounds: true, SwingDB: quantile(swing, 0.5), Fast: quantile(fast, 0.5)}})
	}
	slices.SortStableFunc(l.Tracks, func(a, b Track) int {
		if a.Pair != b.Pair {
			return a.Pair - b.Pair
		}
		switch {
		case a.Here.Fast > b.Here.Fast:
			return -1
		case a.Here.Fast < b.Here.Fast:
			return 1
		}
		return 0
	})
}

func middleUnmasked(e *Excerpt, folds [][]int, c channel.Channel, drive float64) Unmasked {
	var added, ratio, cells []float64
	for _, pair := range folds {
		u := e.Unmasked(pair, e.Pairs, c, drive)
		added, ratio, cells = append(added, u.AddedDB), append(ratio, u.RatioDB), append(cells, u.Cells)
	}
	return Unmasked{AddedDB: quantile(added, 0.5), RatioDB: quantile(ratio, 0.5), Cells: quantile(cells, 0.5)}
}

// matters is the drive at which a level crosses 0 dB, between the drives tried by straight lines; +Inf for never.
func (l *Lesson) matters(level func(d *Drive) float64) float64 {
	for i := range l.Drives {
		v := level(&l.Drives[i])
		if v < 0 || math.IsNaN(v) {
			continue
		}
		if i == 0 {
			return l.Drives[0].DriveDB
		}
		before := level(&l.Drives[i-1])
		return l.Drives[i-1].DriveDB + driveStepDB*(0-before)/(v-before)
	}
	return math.Inf(1)
}

// Means are the middles over the tracks of one kind, voices or the others: modulation index here and shuffled.
func (l *Lesson) Means(voices bool) (here, shuffled Modulated, n int) {
	var a, b, c, d []float64
	for _, t := range l.Tracks {
		if voice := t.Role == "lead vocal" || t.Role == "backing vocal"; voice == voices {
			a, b = append(a, t.Here.Fast), append(b, t.Shuffled.Fast)
			c, d = append(c, t.Here.SwingDB), append(d, t.Shuffled.SwingDB)
		}
	}
	return Modulated{Sounds: len(a) > 0, Fast: quantile(a, 0.5), SwingDB: quantile(c, 0.5)}, Modulated{Sounds: len(a) > 0, Fast: quantile(b, 0.5), SwingDB: quantile(d, 0.5)}, len(a)
}
