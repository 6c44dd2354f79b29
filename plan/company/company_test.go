package company

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/trade"
)

// part is a track that sounds where the pattern has an x.
func part(pattern string, levelDB float64) Track {
	t := Track{LevelDB: levelDB}
	for _, c := range pattern {
		t.Sounds = append(t.Sounds, c == 'x')
	}
	return t
}

func belief(share map[string]float64) []float64 {
	b := make([]float64, len(trade.Roles))
	var total float64
	for _, p := range share {
		total += p
	}
	for r := range b {
		b[r] = (1 - total) / float64(len(b))
	}
	for role, p := range share {
		b[trade.RoleIndex[role]] += p
	}
	return b
}

// Worked by hand: three voices, of which the last two sing together in the second half.
func TestMeasuresOfThreeVoices(t *testing.T) {
	m := Measure([]Track{part("xxxx", -10), part("..xx", -20), part("..xx", -20)}, []float64{1, 1, 1})
	get := func(i int, name string) float64 { return m[i][slices.Index(Measures, name)] }
	assert.InDelta(t, 0.5, get(0, "time"), 1e-9, "all of the time, less a half")
	assert.InDelta(t, 0.5, get(0, "more time"), 1e-9, "all against a half")
	assert.InDelta(t, -0.5, get(1, "more time"), 1e-9)
	assert.InDelta(t, 1, get(0, "louder"), 1e-9, "10 dB")
	assert.InDelta(t, -0.5, get(1, "louder"), 1e-9, "the others are -10 and -20 dB")
	assert.InDelta(t, math.Log(3)-0.7, get(0, "others"), 1e-9)
	assert.InDelta(t, math.Log(2)-0.4, get(0, "in step"), 1e-9, "twice a half")
	assert.InDelta(t, math.Log(2.5)-0.4, get(1, "in step"), 1e-9, "a half and a whole")
}

// Common practice, no source: who sings most of the time, alone and loudest, leads; a stack that enters together backs.
func TestTheLeadIsToldByItsCompany(t *testing.T) {
	voice := belief(map[string]float64{"lead vocal": 0.4, "backing vocal": 0.4, "horns": 0.1})
	tracks := []Track{part("xxxx.xxxxxxx.xxx", -14)}
	heard := [][]float64{voice}
	for range 4 {
		tracks, heard = append(tracks, part(".....xx.....xx..", -22)), append(heard, voice)
	}
	tracks, heard = append(tracks, part("xxxxxxxxxxxxxxxx", -12)), append(heard, belief(map[string]float64{"drums": 0.9}))
	out := Settle(tracks, heard, heard)
	assert.Greater(t, out[0].Belief[lead], 2*out[0].Belief[backing])
	for i := 1; i <= 4; i++ {
		assert.Greater(t, out[i].Belief[backing], out[i].Belief[lead])
		assert.InDelta(t, voice[lead]+voice[backing], out[i].Belief[lead]+out[i].Belief[backing], 1e-12, "how sure a voice it is stays")
	}
	for r, p := range heard[5] {
		if r != lead && r != backing {
			assert.Equal(t, p, out[5].Belief[r], "the drums stay drums")
		}
	}
}

func random(r *rand.Rand, n int) (tracks []Track, heard [][]float64) {
	for range n {
		t := Track{LevelDB: -20 - 40*r.Float64(), Start: r.IntN(5)}
		for range r.IntN(40) {
			t.Sounds = append(t.Sounds, r.IntN(2) == 0)
		}
		b := make([]float64, len(trade.Roles))
		var sum float64
		for i := range b {
			b[i] = math.Exp(3 * r.NormFloat64())
			sum += b[i]
		}
		for i := range b {
			b[i] /= sum
		}
		tracks, heard = append(tracks, t), append(heard, b)
	}
	return tracks, heard
}

func TestSettlingIsFair(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		tracks, heard := random(r, 1+r.IntN(12))
		before := make([][]float64, len(heard))
		for i := range heard {
			before[i] = slices.Clone(heard[i])
		}
		out := Settle(tracks, heard, heard)
		require.Equal(t, before, heard, "what goes in stays as it is")
		for _, s := range out {
			requireDistribution(t, s.Belief)
		}
		if len(tracks) == 1 {
			require.Equal(t, heard[0], out[0].Belief, "no company")
		}
		order := r.Perm(len(tracks))
		louder, shuffled := make([]Track, len(order)), make([][]float64, len(order))
		for n, i := range order {
			louder[n], shuffled[n] = tracks[i], heard[i]
			louder[n].LevelDB -= 7
			louder[n].Start += 100
		}
		for n, s := range Settle(louder, shuffled, shuffled) {
			assert.InDeltaSlice(t, out[order[n]].Belief, s.Belief, 1e-9, "order, gain and time of day of the whole session change nothing")
		}
	}
}

func requireDistribution(t *testing.T, p []float64) {
	t.Helper()
	var sum float64
	for _, v := range p {
		require.False(t, math.IsNaN(v) || v < 0 || v > 1+1e-12)
		sum += v
	}
	require.InDelta(t, 1, sum, 1e-9)
}

func TestOddSessions(t *testing.T) {
	sure := make([]float64, len(trade.Roles))
	sure[backing] = 1
	even := belief(nil)
	for name, tracks := range map[string][]Track{
		"silent":         {{LevelDB: math.Inf(-1)}, {LevelDB: math.Inf(-1)}},
		"one sounds":     {part("x.x", -3), {LevelDB: math.Inf(-1)}},
		"never active":   {part("...", -3), part("..", -3)},
		"days apart":     {{LevelDB: -3, Start: math.MinInt32, Sounds: []bool{true}}, {LevelDB: -3, Start: 1e12, Sounds: []bool{true, false}}},
		"no overlap":     {part("x", -3), {LevelDB: -120, Start: 100, Sounds: []bool{true}}},
		"level unstated": {part("x", math.NaN()), part("x", -3)},
	} {
		t.Run(name, func(t *testing.T) {
			out := Settle(tracks, [][]float64{sure, even}, [][]float64{sure, even})
			for _, s := range out {
				requireDistribution(t, s.Belief)
			}
			assert.InDelta(t, 1, out[0].Belief[lead]+out[0].Belief[backing], 1e-9, "a voice stays one")
		})
	}
	assert.Empty(t, Settle(nil, nil, nil))
}

func TestParseNamesTheFault(t *testing.T) {
	again, err := Parse(shipped.Table())
	require.NoError(t, err)
	assert.Equal(t, shipped, again)
	for fault, text := range map[string]string{
		"rows; want":         "ears,1\n",
		"want \"louder\"":    strings.Replace(table, "louder", "brighter", 1),
		"and a number":       strings.Replace(table, "ears,", "ears,x", 1),
		"table of company: ": strings.Replace(table, "ears,", "ears,1,", 1),
	} {
		_, err := Parse(text)
		assert.ErrorContains(t, err, fault)
	}
}

func BenchmarkSettleHundredTracksOfFourMinutes(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	tracks, heard := random(r, 100)
	for i := range tracks {
		tracks[i].Sounds = make([]bool, 480)
		for n := range tracks[i].Sounds {
			tracks[i].Sounds[n] = r.IntN(2) == 0
		}
	}
	for b.Loop() {
		Settle(tracks, heard, heard)
	}
}
