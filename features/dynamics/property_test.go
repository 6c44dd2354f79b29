package dynamics

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/vec"
)

// playing is invented material with everything in it: gaps, notes, hits, hiss and an offset.
func playing(rate int) []float32 {
	x := joined(
		hits(rate, 3, 0.25, 180, 0.2, 0.2),
		make([]float32, rate),
		sampled(rate, 2, func(t float64) float64 { return 0.15 * min(t/0.3, 1) * math.Sin(2*math.Pi*220*t) }),
		scaled(clicks(rate, 2, 0.2), 0.4),
	)
	for i, v := range noise(rate, float64(len(x))/float64(rate), 1e-4, 9) {
		x[i] += v + 0.003
	}
	return x
}

func TestGainAndPolarityChangeOnlyLevels(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	x := playing(rate48)
	want := analyse(rate48, 4096, x)
	require.Greater(t, want.Onsets, int64(10))
	for _, gain := range []float64{-1, 3.9810717, 0.2511886, -0.7} {
		r := analyse(rate48, 4096, scaled(x, float32(gain)))
		db := 20 * math.Log10(math.Abs(gain))
		assert.InDelta(t, want.CrestDB, r.CrestDB, 1e-3, "gain %g", gain)
		assert.InDelta(t, want.PlainCrestDB, r.PlainCrestDB, 1e-4)
		assert.InDelta(t, want.ActiveShare, r.ActiveShare, 0.007, "one stretch in 160")
		assert.Equal(t, want.Onsets, r.Onsets, "gain %g", gain)
		assert.InEpsilon(t, want.OnsetRateHz, r.OnsetRateHz, 0.01)
		assert.InEpsilon(t, want.AttackS, r.AttackS, 1e-4)
		assert.InEpsilon(t, want.DecayS, r.DecayS, 1e-4)
		assert.InDelta(t, want.TransientToSustainDB, r.TransientToSustainDB, 1e-3)
		assert.InDelta(t, want.Tonality, r.Tonality, 1e-5)
		assert.Equal(t, want.ClippedRuns, r.ClippedRuns)
		assert.Equal(t, want.Silent, r.Silent)
		for _, level := range [][2]float64{{want.SamplePeakDB, r.SamplePeakDB}, {want.RMSDB, r.RMSDB}, {want.VUMaxDB, r.VUMaxDB}} {
			assert.InDelta(t, level[0]+db, level[1], 1e-4, "gain %g", gain)
		}
		assert.InDelta(t, want.NoiseFloorDB+db, r.NoiseFloorDB, 0.1001, "bins of 0.1 dB")
		assert.InDelta(t, want.GateDB+db, r.GateDB, 0.1001, "bins of 0.1 dB")
		assert.InDelta(t, want.DCOffset*gain, r.DCOffset, 1e-7)
	}
}

func TestBlocksDoNotMatter(t *testing.T) {
	left, right := playing(44100), noise(44100, 8, 0.02, 4)
	want := analyse(44100, len(left), left, right)
	for _, block := range []int{1, 7, 480, 65536} {
		assert.Equal(t, want, analyse(44100, block, left, right), "blocks of %d", block)
	}
}

func TestOrderOfSamplesAndFramesDoesNotMatter(t *testing.T) {
	x := playing(rate48)
	want := analyse(rate48, 4096, x) // all frames first
	m := New(rate48, 1)
	m.Write([][]float32{x})
	newFramer(rate48, 1).frames(m, [][]float32{x})
	assert.Equal(t, want, m.Result(), "all samples first")
	assert.Equal(t, want, m.Result(), "asked again")
	m.Write([][]float32{x})
	assert.Equal(t, want, m.Result(), "nothing is added after the result")
}

func TestChannelsAlikeChangeNothing(t *testing.T) {
	x := playing(rate48)
	one, two := analyse(rate48, 4096, x), analyse(rate48, 4096, x, scaled(x, -1))
	assert.InDelta(t, one.CrestDB, two.CrestDB, 1e-9)
	assert.InDelta(t, one.ActiveShare, two.ActiveShare, 1e-9)
	assert.Equal(t, one.Onsets, two.Onsets)
	assert.InEpsilon(t, one.DecayS, two.DecayS, 1e-9)
	assert.Len(t, two.PerChannel, 2)
	assert.InDelta(t, two.PerChannel[0].DCOffset, -two.PerChannel[1].DCOffset, 1e-12)
}

func TestNothingIsAllocatedWhileMeasuring(t *testing.T) {
	m := New(rate48, 2)
	x := noise(rate48, 0.1, 0.1, 1)
	block, power := [][]float32{x, x}, spectrum()
	assert.Zero(t, testing.AllocsPerRun(50, func() { m.Write(block); m.Frame(power) }))
	v := NewVU(rate48)
	assert.Zero(t, testing.AllocsPerRun(50, func() { v.Write(x) }))
}

func TestMedianAgainstSorting(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	for range 2000 {
		x := [5]uint32{r.Uint32N(9), r.Uint32N(9), r.Uint32N(9), r.Uint32N(9), r.Uint32N(9)}
		below, above := 0, 0
		m := median5(x[0], x[1], x[2], x[3], x[4])
		for _, v := range x {
			if v < m {
				below++
			}
			if v > m {
				above++
			}
		}
		assert.True(t, below <= 2 && above <= 2, "definition of the median: %v %d", x, m)
	}
}

func TestFastLogarithm(t *testing.T) {
	for x := float32(1e-30); x < 1e6; x *= 1.013 {
		assert.InDelta(t, math.Log2(float64(x)), float64(log2(x)), 1e-4, "math.Log2(%g)", x)
	}
}

func TestMeasureAgainstPlainSums(t *testing.T) {
	for _, n := range []int{1, 2, 3, 4, 5, 47, 48, 385} {
		x := noise(rate48, float64(n)/rate48, 0.3, uint64(n))
		x[0] += 0.05
		var want vec.Cell
		var wantHigh, wantLow float32
		for _, v := range x {
			d := float64(v)
			want.Sum += d
			want.Square += d * d
			want.Abs += math.Abs(d)
			want.Peak = max(want.Peak, v, -v)
			wantHigh, wantLow = max(wantHigh, v), min(wantLow, v)
		}
		cells := make([]vec.Cell, 1)
		measure(cells, x, n)
		got := cells[0]
		assert.InDelta(t, want.Sum, got.Sum, 1e-12)
		assert.InEpsilon(t, want.Square, got.Square, 1e-12)
		assert.InEpsilon(t, want.Abs, got.Abs, 1e-6)
		assert.Equal(t, want.Peak, got.Peak)
		high, low := extremes(x)
		assert.Equal(t, wantHigh, high)
		assert.Equal(t, wantLow, low)
	}
	loud := make([]vec.Cell, 1)
	measure(loud, slices.Repeat([]float32{-math.MaxFloat32}, 48), 48)
	assert.InEpsilon(t, 48*float64(math.MaxFloat32), loud[0].Abs, 1e-9, "too large for float32")
}
