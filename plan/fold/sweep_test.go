package fold

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
	"foldout/plan/trade"
	"foldout/testdata/underrace"
)

func TestSweepFallsAndRecommendsWithinItsRange(t *testing.T) {
	s := prepareSong(t, Options{Pairs: 8, Seed: 1})
	w, err := s.Sweep(1, 8)
	require.NoError(t, err)
	require.Len(t, w.Points, 8)
	assert.Equal(t, 1.0, w.Points[0].SpreadPC, "one pair is the measure of all")
	assert.Zero(t, w.Points[0].Figures.OverlapAcross)
	for i := range w.Points[1:] {
		before, p := &w.Points[i], &w.Points[i+1]
		assert.LessOrEqual(t, p.SpreadPC, before.SpreadPC+1e-9, "more pairs never scatter more")
		assert.LessOrEqual(t, p.Used, p.Pairs)
		assert.NotEmpty(t, p.Buys)
	}
	// The song has drums, percussion, bass, electric guitars, keys and two kinds of voice (invented; families are common
	// practice): each gets its own pair. Rhythm, band and voices are what nobody mixes.
	assert.Equal(t, []string{"Drums", "Percussion", "Bass", "Electric guitars", "Keys", "Lead vocals", "Backing vocals"}, w.Families)
	assert.Equal(t, 7, w.Recommend)
	assert.Equal(t, 3, w.Enough)
	assert.Zero(t, w.Points[6].Mixed)
	assert.Equal(t, 1.0, w.Points[0].Mixed)
	assert.NotEmpty(t, w.Advice)
	_, err = s.Sweep(3, 2)
	assert.Error(t, err)
	_, err = s.Sweep(1, 1000)
	assert.Error(t, err)
}

func TestFiguresOfPlainFolds(t *testing.T) {
	s := prepareSong(t, Options{Pairs: 4, Seed: 1})
	alone := make([]int, len(s.Live))
	for p := range alone {
		alone[p] = p
	}
	f, err := s.FiguresOf(alone, len(alone))
	require.NoError(t, err)
	assert.Zero(t, f.WithinSpread)
	assert.Zero(t, f.RegisterOverlap, "nobody to be covered by")
	assert.Equal(t, 1.0, f.Crowding)
	none := make([]int, len(s.Live))
	for p := range none {
		none[p] = -1
	}
	f, err = s.FiguresOf(none, 3)
	require.NoError(t, err)
	assert.Zero(t, f.PairsUsed)

	assert.False(t, sheet.MeasuredLevel(f.LoudestPairDB), "no sum was made")
}

// Sessions of random instrumentation: more pairs never scatter more, and the advice is one pair for each family.
func TestSweepsAreMonotoneAndFollowTheFamilies(t *testing.T) {
	underrace.Skip(t)
	rng := rand.New(rand.NewPCG(4, 4))
	for range 8 {
		s := pure(t, rng, drawCounts(rng))
		s.opt.Seed = 1
		w, err := s.Sweep(1, 14)
		require.NoError(t, err)
		for i := range w.Points[1:] {
			assert.LessOrEqual(t, w.Points[i+1].Figures.WithinSpread, w.Points[i].Figures.WithinSpread)
		}
		assert.Equal(t, len(w.Families), w.Recommend, "%v", w.Families)
		assert.LessOrEqual(t, w.Enough, w.Recommend)
	}
}

func TestOverlapByHand(t *testing.T) {
	// Power 2 against a masker of 1 after the offset: a third is covered. No power, nothing.
	assert.InDelta(t, 1.0/3, covered(2, 1), 1e-12)
	assert.Zero(t, covered(0, 0))
	assert.Zero(t, covered(1, 0))
	// Two tracks of one band and equal power that always sound cover 10^-0.6 / (1 + 10^-0.6) of each other.
	s := pure(t, rand.New(rand.NewPCG(1, 1)), map[string]int{"bass": 3})
	m := &Merits{s: s, bands: [][]float64{make([]float64, 10), make([]float64, 10), make([]float64, 10)}}
	for p := range m.bands {
		s.Tracks[p].Profile.ActiveShare = 1
	}
	m.bands[0][2], m.bands[1][2], m.bands[2][7] = 1, 1, 5
	f := sheet.Figures{Pairs: []sheet.PairFigures{{Tracks: 2}, {Tracks: 1}}}
	m.overlaps(&f, []int{0, 0, 1})
	want := math.Pow(10, -0.6) / (1 + math.Pow(10, -0.6))
	assert.InDelta(t, want, f.Pairs[0].RegisterOverlap, 0.001)
	assert.InDelta(t, 2*want/3, f.RegisterOverlap, 0.001, "the third has no company")
	assert.Zero(t, f.OverlapAcross, "the pairs share no band")
	f = sheet.Figures{Pairs: []sheet.PairFigures{{Tracks: 1}, {Tracks: 2}}}
	m.overlaps(&f, []int{0, 1, 1})
	assert.InDelta(t, 2*want/3, f.OverlapAcross, 0.001)
}

func TestGrowSplitsAndShufflesNothing(t *testing.T) {
	underrace.Skip(t)
	s := prepareSong(t, Options{Pairs: 3, Seed: 1})
	old, err := s.Suggest()
	require.NoError(t, err)
	before := s.Place(old.Manual()).Labels
	for k := 3; k <= 9; k++ {
		g, err := s.Grow(old, k)
		require.NoError(t, err)
		origin := map[int]int{}
		for p, l := range g.Labels {
			if from, ok := origin[l]; ok {
				assert.Equal(t, from, before[p], "tracks of different pairs do not meet")
			}
			origin[l] = before[p]
		}
		for q := range old.Pairs {
			assert.Contains(t, g.Labels, q, "a pair keeps its number and some of its tracks")
		}
		if k == 3 {
			assert.Equal(t, before, g.Labels)
			assert.Equal(t, []string{old.Pairs[0].Name, old.Pairs[1].Name, old.Pairs[2].Name}, g.Names)
		}
		for _, unit := range s.units {
			for _, p := range unit {
				assert.Equal(t, g.Labels[unit[0]], g.Labels[p], "ties hold")
			}
		}
		sheet, err := s.Sheet(g)
		require.NoError(t, err)
		assert.Len(t, sheet.Pairs, k)
	}
	_, err = s.Grow(old, 2)
	assert.ErrorContains(t, err, "cannot grow")
}

func TestLikeKeepsPairsAndNames(t *testing.T) {
	s := prepareSong(t, Options{Pairs: 4, Seed: 1})
	other, err := s.Suggest()
	require.NoError(t, err)
	other.Pairs[0].Name = "Engine Room"
	g, err := s.Like(other)
	require.NoError(t, err)
	assert.Equal(t, s.Place(other.Manual()).Labels, g.Labels, "the same song goes where it was")

	// The next song of the album: other tracks of the same roles (invented).
	next := pure(t, rand.New(rand.NewPCG(5, 5)), map[string]int{"kick": 1, "snare": 2, "bass": 1, "electric guitar": 3, "strings": 2, "backing vocal": 2})
	g, err = next.Like(other)
	require.NoError(t, err)
	home := map[string]int{}
	for q, p := range other.Pairs {
		for _, tr := range p.Tracks {
			home[trade.KindOf[tr.Role]] = q
		}
	}
	for p, l := range g.Labels {
		role, _ := next.Belief[p].Best()
		if want, ok := home[trade.KindOf[role]]; ok {
			assert.Equal(t, want, l, role)
		}
	}
	doc, err := next.Sheet(g)
	require.NoError(t, err)
	assert.Equal(t, "Engine Room", doc.Pairs[0].Name)
	_, err = next.Like(&sheet.Sheet{Pairs: []sheet.Pair{{Name: "Free"}}})
	assert.Error(t, err)
}

func BenchmarkFoldAHundredTracks(b *testing.B) {
	s := pure(b, rand.New(rand.NewPCG(3, 3)), map[string]int{"kick": 4, "snare": 5, "tom": 5, "hat": 2, "overhead": 4, "room": 4, "percussion": 8, "bass": 4, "electric guitar": 16,
		"acoustic guitar": 6, "piano": 4, "organ": 2, "synth": 10, "strings": 6, "horns": 5, "lead vocal": 4, "backing vocal": 11})
	s.opt = Options{Pairs: 8, Seed: 1}
	for b.Loop() {
		if _, err := s.Suggest(); err != nil {
			b.Fatal(err)
		}
	}
}
