package levels

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/rig"
)

// Invented: three tracks with single samples whose sum is known.
func TestOversNameTimesAndTracks(t *testing.T) {
	dir := t.TempDir()
	a, b, c := make([]float64, 4*rate), make([]float64, 4*rate), make([]float64, 4*rate)
	a[rate], b[rate], c[rate] = 0.9, 0.6, -0.3 // 1.2 at 1 s: 75 %, 50 % and against it
	a[3*rate+100], b[3*rate+100] = -0.5, -0.9  // -1.4: 36 and 64 %
	c[2*rate] = 1                              // full scale is no over
	a[3*rate+200], b[3*rate+200] = 0.6, 0.5    // within half a second of the last: the same place
	put(t, dir, "a.wav", a, make([]float64, 4*rate))
	put(t, dir, "b.wav", b, make([]float64, 4*rate))
	put(t, dir, "c.wav", c, make([]float64, 4*rate))
	r := rig.Plain(1)
	r.Summing.MaxInputDBu = 40
	p := measure(t, sheetOf(dir, []string{"a.wav", "b.wav", "c.wav"}), r).Pairs[0]
	require.Len(t, p.Overs, 2)
	assert.Equal(t, 3, p.OverCount, "stretches")
	near(t, 3.0/rate, p.OverS, 1e-12, "three samples in all")
	assert.Equal(t, []int{1, 2}, []int{p.Overs[0].Stretches, p.Overs[1].Stretches})
	first, second := p.Overs[0], p.Overs[1]
	near(t, 1, first.TimeS, 1e-9, "time")
	assert.Equal(t, []string{"L", "converter"}, []string{first.Side, first.Clips})
	near(t, 20*math.Log10(1.2), first.PeakDBFS, 1e-5, "peak")
	near(t, 22+20*math.Log10(1.2), first.PeakDBu, 1e-5, "peak in dBu")
	require.Len(t, first.Tracks, 2, "a track that pulls the other way causes nothing")
	assert.Equal(t, []string{"a.wav", "b.wav"}, []string{first.Tracks[0].File, first.Tracks[1].File})
	near(t, 0.75, first.Tracks[0].Share, 1e-6, "a")
	near(t, 0.5, first.Tracks[1].Share, 1e-6, "b")
	near(t, 3+100.0/rate, second.TimeS, 1e-9, "time of the highest")
	assert.Equal(t, "b.wav", second.Tracks[0].File)
	assert.Equal(t, []string{"b.wav", "a.wav"}, []string{p.Offenders[0].File, p.Offenders[1].File})
	near(t, (0.5+0.9/1.4)/2, p.Offenders[0].Share, 1e-6, "b on the whole")
	near(t, (0.75+0.5/1.4)/2, p.Offenders[1].Share, 1e-6, "a on the whole")
}

// A stretch is a run of frames in which either side is beyond the limit; counted by hand.
func TestStretchesAreRunsOfEitherSide(t *testing.T) {
	dir := t.TempDir()
	l, r := make([]float64, 2*rate), make([]float64, 2*rate)
	for i := 100; i < 110; i++ { // ten frames left, five of them and two more right: one stretch of twelve
		l[i] = 1.5
	}
	for i := 105; i < 112; i++ {
		r[i] = -1.5
	}
	l[200], l[202] = 1.2, -1.2 // two more stretches in the same place, for the sample between them is within
	r[rate+1000] = 2           // and one elsewhere
	put(t, dir, "a.wav", l, r)
	u := rig.Plain(1)
	u.Summing.MaxInputDBu = 40
	p := measure(t, sheetOf(dir, []string{"a.wav"}), u).Pairs[0]
	require.Len(t, p.Overs, 2)
	assert.Equal(t, []int{3, 1}, []int{p.Overs[0].Stretches, p.Overs[1].Stretches})
	assert.Equal(t, 4, p.OverCount)
	near(t, 15.0/rate, p.OverS, 1e-12, "length of all")
}

// The unit's maximum input is a limit of its own: +24 dBFS full scale into +18 dBu at most clips from -6 dBFS on.
func TestUnitClipsBeforeTheConverter(t *testing.T) {
	dir := t.TempDir()
	x := make([]float64, rate)
	x[1000], x[40000] = 0.6, 1.1
	put(t, dir, "a.wav", x, make([]float64, rate))
	r := aligned(1, -20, 4)
	r.Summing.MaxInputDBu = 18
	p := measure(t, sheetOf(dir, []string{"a.wav"}), r).Pairs[0]
	require.Len(t, p.Overs, 2)
	assert.Equal(t, "unit", p.Overs[0].Clips)
	assert.Equal(t, "converter and unit", p.Overs[1].Clips)
	near(t, 24+20*math.Log10(0.6), p.Overs[0].PeakDBu, 1e-5, "dBu")
}

// EBU Tech 3341 case 19: a quarter of the sampling rate at 45 degrees and 1.41 of full scale peaks at +3.0 dBTP (+0.2
// -0.4) while its samples stay below full scale.
func TestOversBetweenSamplesAreFound(t *testing.T) {
	dir := t.TempDir()
	x := make([]float64, 2*rate)
	fade := func(i int) float64 { return min(1, float64(min(i-rate, rate+rate/2-i))/480) } // 10 ms, as in the standard
	for i := rate; i < rate+rate/2; i++ {
		x[i] = 1.41 * fade(i) * math.Sin(math.Pi/2*float64(i)+math.Pi/4)
	}
	put(t, dir, "a.wav", x, x)
	p := measure(t, sheetOf(dir, []string{"a.wav"}), nil).Pairs[0]
	require.Less(t, float64(p.SamplePeakDBFS), 0.0)
	assert.InDelta(t, 2.9, float64(p.TruePeakDBTP), 0.3)
	require.Len(t, p.Overs, 1)
	assert.InDelta(t, 2.9, float64(p.Overs[0].PeakDBFS), 0.3)
	assert.InDelta(t, 1.25, p.Overs[0].TimeS, 0.3)
	assert.Equal(t, "a.wav", p.Overs[0].Tracks[0].File)
}

// A steady loud tone without overs gives none, wherever blocks are cut.
func TestNoOversWhereNoneAre(t *testing.T) {
	dir := t.TempDir()
	x := tone(7001, -0.2, 3)
	for i := range 480 {
		x[i] *= float64(i) / 480
		x[len(x)-1-i] *= float64(i) / 480
	}
	put(t, dir, "a.wav", x, x)
	p := measure(t, sheetOf(dir, []string{"a.wav"}), nil).Pairs[0]
	require.Less(t, float64(p.TruePeakDBTP), 0.0)
	assert.Empty(t, p.Overs)
	assert.Zero(t, p.OverCount)
}
