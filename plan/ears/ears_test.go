package ears

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/timbre"
)

// The roles a fold is made of: the trade's usual track list, common practice, no source.
func TestRolesCoverTheTrackList(t *testing.T) {
	for _, r := range []string{"kick", "snare", "hat", "tom", "overhead", "cymbal", "room", "percussion", "drums", "bass",
		"electric guitar", "acoustic guitar", "piano", "organ", "synth", "strings", "horns", "lead vocal", "backing vocal"} {
		assert.Contains(t, Roles, r)
	}
	assert.Len(t, Roles, 19)
}

func TestTableMatchesTheVector(t *testing.T) {
	seen := map[int]bool{}
	for i, e := range model.element {
		require.Less(t, e, timbre.Size)
		require.False(t, seen[e], "element %q occurs twice", timbre.Names[e])
		seen[e] = true
		require.Len(t, model.weight[i], len(Roles))
		require.Len(t, model.away[i].weight, len(Roles))
		for _, w := range slices.Concat(model.weight[i], model.away[i].weight) {
			assert.Less(t, math.Abs(w), 3.0, "a weight this large is not shrunk: %q", timbre.Names[e])
		}
	}
	require.Len(t, model.bias, len(Roles))
}

func TestProbabilitiesAreProbabilitiesForAnyVector(t *testing.T) {
	nan, inf := float32(math.NaN()), float32(math.Inf(1))
	usual := make([]float32, timbre.Size)
	for i, e := range model.element {
		usual[e] = float32(model.centre[i])
	}
	cases := map[string][]float32{
		"nil": nil, "short": {1, 2}, "usual": usual,
		"zero":         make([]float32, timbre.Size),
		"not a number": slices.Repeat([]float32{nan}, timbre.Size),
		"infinite":     slices.Repeat([]float32{inf}, timbre.Size),
		"huge":         slices.Repeat([]float32{-math.MaxFloat32}, timbre.Size),
		"too long":     make([]float32, timbre.Size+10),
	}
	for name, v := range cases {
		t.Run(name, func(t *testing.T) { requireDistribution(t, Probabilities(v)) })
	}
	assert.InDeltaSlice(t, Probabilities(nil), Probabilities(cases["not a number"]), 1e-12, "missing elements say nothing")
}

func requireDistribution(t *testing.T, p []float64) {
	t.Helper()
	require.Len(t, p, len(Roles))
	var sum float64
	for _, v := range p {
		require.False(t, math.IsNaN(v) || v < 0 || v > 1)
		sum += v
	}
	require.InDelta(t, 1, sum, 1e-9)
}

// The same evidence is believed less where the sound is farther from all that is usual; the bounds hold for any input.
func TestStrangenessTakesCertainty(t *testing.T) {
	assert.Less(t, Temper([]float64{1, -1, 1, 1}), Temper([]float64{1, -3, 3, 1}))
	assert.Equal(t, Temper([]float64{0, 0}), Temper(nil))
	assert.InDelta(t, temper, Temper([]float64{1, 1, -1}), 1e-12)
	assert.LessOrEqual(t, Temper([]float64{1e9}), 2.0)
	assert.Greater(t, Temper(nil), 0.5)
}

func TestParseNamesTheFault(t *testing.T) {
	good := "element,centre,spread,kick,bass\nbias,0,1,0.5,-0.5\nc1 mean,2,3,1,-1\n"
	m, err := parse(good)
	require.NoError(t, err)
	assert.Equal(t, []string{"kick", "bass"}, m.roles)
	m, err = parse(good + "|c1 mean|,0.8,0.5,2,-2\n")
	require.NoError(t, err)
	assert.Equal(t, []distance{{0.8, 0.5, []float64{2, -2}}}, m.away)
	for want, table := range map[string]string{
		"unknown element":  "element,centre,spread,kick,bass\nbias,0,1,0.5,-0.5\nweather,2,3,1,-1\n",
		"spread of 0":      "element,centre,spread,kick,bass\nbias,0,1,0.5,-0.5\nc1 mean,2,0,1,-1\n",
		"not a number":     "element,centre,spread,kick,bass\nbias,0,1,0.5,-0.5\nc1 mean,2,3,NaN,-1\n",
		"wrong number":     "element,centre,spread,kick,bass\nbias,0,1,0.5,-0.5\nc1 mean,2,3,1\n",
		"does not follow":  "element,centre,spread,kick,bass\nbias,0,1,0.5,-0.5\n|c1 mean|,0.8,1,1,-1\nc1 mean,2,3,1,-1\n",
		"want a header":    "",
		"bias and element": "element,centre,spread,kick,bass\nc1 mean,2,3,1,1\nc1 mean,2,3,1,1\n",
	} {
		_, err := parse(table)
		assert.ErrorContains(t, err, want)
	}
}

func FuzzProbabilities(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8})
	f.Fuzz(func(t *testing.T, b []byte) {
		v := make([]float32, 0, len(b)/4)
		for ; len(b) >= 4; b = b[4:] {
			v = append(v, math.Float32frombits(uint32(b[0])|uint32(b[1])<<8|uint32(b[2])<<16|uint32(b[3])<<24))
		}
		requireDistribution(t, Probabilities(v))
	})
}

func BenchmarkProbabilities(b *testing.B) {
	v := make([]float32, timbre.Size)
	for b.Loop() {
		Probabilities(v)
	}
}
