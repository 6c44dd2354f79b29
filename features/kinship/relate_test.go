package kinship

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const songSeconds = 16

// between returns the relation of a and b, whichever way it was found.
func between(rel []Relation, a, b int) Relation {
	for _, r := range rel {
		if r.A == a && r.B == b || r.A == b && r.B == a {
			return r
		}
	}
	return Relation{}
}

// TestRelatePairs makes the second track from the first in a known way; kinds, lags and polarity follow from the making.
func TestRelatePairs(t *testing.T) {
	dry := notes(songSeconds, testRate, 1, 1)
	other := notes(songSeconds, testRate, 2, 2)
	n := len(dry)
	room := sum(dry, gain(whiteNoise(n, 9, 1), 1e-4))
	cases := []struct {
		name    string
		a, b    [][]float32
		want    []Kind
		lag     float64
		flipped bool
	}{
		{"same file", [][]float32{dry}, [][]float32{dry}, []Kind{Identical}, 0, false},
		{"6 dB louder", [][]float32{dry}, [][]float32{gain(dry, 2)}, []Kind{Identical}, 0, false},
		{"upside down", [][]float32{dry}, [][]float32{gain(dry, -0.3)}, []Kind{Identical}, 0, true},
		{"mono as stereo", [][]float32{dry}, [][]float32{dry, dry}, []Kind{Identical}, 0, false},
		{"stereo with one side upside down", [][]float32{dry}, [][]float32{dry, gain(dry, -1)}, []Kind{Identical}, 0, false},
		{"48 samples late", [][]float32{dry}, [][]float32{delayed(dry, 48)}, []Kind{Copy}, 0.001, false},
		{"darker, upside down", [][]float32{dry}, [][]float32{gain(filtered(dry, testRate, 400, 0.2), -1)}, []Kind{Copy, Processed}, 0, true},
		{"brighter", [][]float32{dry}, [][]float32{filtered(dry, testRate, 800, 4)}, []Kind{Copy}, 0, false},
		{"compressed and clipped", [][]float32{dry}, [][]float32{squeezed(dry, testRate, 0.03)}, []Kind{Processed, Copy, Sides}, 0, false}, // on time and equally bright, it could be one of a coincident pair
		{"hall return", [][]float32{dry}, [][]float32{hall(room, testRate, 1.2, 1), hall(room, testRate, 1.2, 2)}, []Kind{Return}, math.NaN(), false},
		{"echo return", [][]float32{dry}, [][]float32{sum(delayed(dry, 18000), gain(delayed(dry, 36000), 0.5))}, []Kind{Return}, 0.375, false},
		{"another take", [][]float32{dry}, [][]float32{notes(songSeconds, testRate, 1, 7)}, []Kind{Double}, 0, false},
		{"another tune", [][]float32{dry}, [][]float32{other}, []Kind{Unrelated}, 0, false},
		{"noise", [][]float32{dry}, [][]float32{whiteNoise(n, 3, 0.1)}, []Kind{Unrelated}, 0, false},
		{"two noises", [][]float32{whiteNoise(n, 4, 0.1)}, [][]float32{whiteNoise(n, 5, 0.1)}, []Kind{Unrelated}, 0, false},
		{"silence", [][]float32{dry}, [][]float32{make([]float32, n)}, []Kind{Unrelated}, 0, false},
		{"two silences", [][]float32{make([]float32, n)}, [][]float32{make([]float32, n)}, []Kind{Unrelated}, 0, false},
		{"one sample", [][]float32{dry}, [][]float32{{0.5}}, []Kind{Unrelated}, 0, false},
	}
	for i, c := range cases {
		if underRaceDetector && i%5 != 0 {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			rel := Relate([]Sketch{sketchOf(testRate, 0, c.a...), sketchOf(testRate, 0, c.b...)})
			r := between(rel, 0, 1)
			require.Contains(t, c.want, r.Kind, "%+v", rel)
			if r.Kind == Unrelated || r.Kind == Double {
				return
			}
			assert.Positive(t, r.Confidence)
			if r.Kind == Return {
				assert.Equal(t, 1, r.A, "the return is made from the dry track")
			}
			if !math.IsNaN(c.lag) {
				lag := r.LagSeconds
				if r.A == 0 {
					lag = -lag
				}
				assert.InDelta(t, c.lag, lag, 1e-4)
				assert.Equal(t, c.flipped, r.PolarityFlipped)
			}
		})
	}
}

// TestRelateKit is an invented kit: kick and snare close, each heard by the other and by two overheads with the delays
// of their distances, a bus of all of them squeezed, and a tune that has nothing to do with it.
func TestRelateKit(t *testing.T) {
	kick, snare := hits(songSeconds, testRate, 1, 0, 1.5, 2), hits(songSeconds, testRate, 2, 1, 3)
	closeKick := sum(kick, gain(delayed(snare, 110), 0.05))
	closeSnare := sum(snare, gain(delayed(kick, 110), 0.1))
	left := gain(sum(delayed(kick, 240), delayed(snare, 150), gain(whiteNoise(len(kick), 8, 1), 1e-4)), 0.4)
	right := gain(sum(delayed(kick, 250), delayed(snare, 190), gain(whiteNoise(len(kick), 9, 1), 1e-4)), 0.4)
	bus := squeezed(sum(closeKick, closeSnare, left, right), testRate, 0.2)
	tune := notes(songSeconds, testRate, 3, 3)
	var set []Sketch
	for _, x := range [][]float32{closeKick, closeSnare, left, right, bus, tune} {
		set = append(set, sketchOf(testRate, 0, x))
	}
	rel := Relate(set)
	assert.False(t, between(rel, 0, 1).Kind.Tie(), "close microphones are not copies: %v", between(rel, 0, 1).Kind)
	assert.Equal(t, Bleed, between(rel, 1, 2).Kind)
	assert.InDelta(t, -150.0/testRate, signedLag(between(rel, 1, 2), 1), 1e-4)
	assert.Equal(t, Sum, between(rel, 0, 4).Kind)
	assert.Equal(t, Sum, between(rel, 1, 4).Kind)
	assert.Equal(t, 4, between(rel, 0, 4).A)
	for i := range 5 {
		assert.Equal(t, Unrelated, between(rel, i, 5).Kind)
	}
}

// signedLag is how much the other track comes before track of.
func signedLag(r Relation, of int) float64 {
	if r.A == of {
		return r.LagSeconds
	}
	return -r.LagSeconds
}

// TestSides: two spaced microphones before one sound that moves about between them.
func TestSides(t *testing.T) {
	a, b, c := notes(songSeconds, testRate, 1, 1), notes(songSeconds, testRate, 2, 2), notes(songSeconds, testRate, 3, 3)
	left := sum(a, gain(delayed(b, 12), 0.5), gain(delayed(c, 5), 0.8))
	right := sum(gain(delayed(a, 12), 0.5), b, gain(c, 0.8))
	rel := Relate([]Sketch{sketchOf(testRate, 0, left), sketchOf(testRate, 0, right)})
	assert.Equal(t, Sides, between(rel, 0, 1).Kind, "%+v", rel)
}

// TestHallOfThree: an effect fed by three parts that have nothing in common belongs to each of them.
func TestHallOfThree(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	var set []Sketch
	var all [][]float32
	for i := range 3 {
		all = append(all, notes(songSeconds, testRate, uint64(i+1), uint64(i+1)))
		set = append(set, sketchOf(testRate, 0, all[i]))
	}
	set = append(set, sketchOf(testRate, 0, hall(sum(all...), testRate, 1, 4)))
	c := Compare(set)
	for i := range 3 {
		r := between(c.Relations(), i, 3)
		assert.Equal(t, Return, r.Kind)
		assert.Equal(t, 3, r.A)
	}
}

// TestTimeReference: the second file begins two seconds into the song and says so.
func TestTimeReference(t *testing.T) {
	dry := notes(songSeconds, testRate, 1, 1)
	cut := 2*testRate + 1234
	const day = 10 * 3600 * testRate
	rel := Relate([]Sketch{sketchOf(testRate, day, dry), sketchOf(testRate, day+int64(cut), gain(dry[cut:], 0.5))})
	r := between(rel, 0, 1)
	assert.Contains(t, []Kind{Identical, Copy}, r.Kind)
	assert.InDelta(t, 0, r.LagSeconds, 2e-5)
}

// TestSampleRates: one performance rendered at two rates.
func TestSampleRates(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	base := sketchOf(48000, 0, notes(songSeconds, 48000, 1, 1))
	for _, rate := range []int{44100, 88200, 96000, 192000} {
		r := between(Relate([]Sketch{base, sketchOf(rate, 0, notes(songSeconds, rate, 1, 1))}), 0, 1)
		assert.True(t, r.Kind == Copy || r.Kind == Identical, "%d Hz: %+v", rate, r)
		assert.InDelta(t, 0, r.LagSeconds, 5e-5, "%d Hz", rate)
	}
}

// TestInvariance: gain, polarity and order change no finding.
func TestInvariance(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	dry := notes(songSeconds, testRate, 1, 1)
	tracks := [][]float32{
		dry, squeezed(dry, testRate, 0.03), hall(dry, testRate, 0.8, 1), notes(songSeconds, testRate, 1, 5),
		hits(songSeconds, testRate, 1, 0, 2), notes(songSeconds, testRate, 2, 2),
	}
	sketches := func(order []int, gains ...float64) []Sketch {
		out := make([]Sketch, len(order))
		for k, i := range order {
			out[k] = sketchOf(testRate, 0, gain(tracks[i], gains[i%len(gains)]))
		}
		return out
	}
	plain := []int{0, 1, 2, 3, 4, 5}
	want := Compare(sketches(plain, 1))
	base := want.Relations()
	require.NotEmpty(t, base)
	t.Run("gain and polarity", func(t *testing.T) {
		got := Compare(sketches(plain, 4, -0.25, 1, 0.37, -4))
		for i := range tracks {
			for j := range i {
				a, b := between(base, i, j), between(got.Relations(), i, j)
				assert.Equal(t, a.Kind, b.Kind, "%d %d", i, j)
				assert.InDelta(t, a.Coherence, b.Coherence, 5e-3)
			}
		}
	})
	t.Run("order", func(t *testing.T) {
		order := []int{3, 5, 0, 2, 1, 4}
		got := Relate(sketches(order, 1))
		assert.Len(t, got, len(base))
		for _, r := range got {
			assert.Equal(t, between(base, order[r.A], order[r.B]).Kind, r.Kind)
		}
	})
	t.Run("again", func(t *testing.T) {
		assert.Equal(t, base, Relate(sketches(plain, 1)))
	})
}

// TestTheFileIsNotTheSound: the same session quieter, at another rate, and with silence around all of it gives the same
// relations; so does one file alone that is quieter or at another rate.
func TestTheFileIsNotTheSound(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	session := func(rate int) [][]float32 {
		dry := notes(songSeconds, rate, 1, 1)
		return [][]float32{dry, squeezed(dry, rate, 0.03), hall(dry, rate, 0.8, 1), notes(songSeconds, rate, 1, 5), filtered(dry, rate, 800, 4), notes(songSeconds, rate, 2, 2)}
	}
	at48, at44 := session(48000), session(44100)
	plain := func(x []float32) []float32 { return x }
	sketched := func(which func(i int) ([]float32, int)) []Relation {
		set := make([]Sketch, len(at48))
		for i := range set {
			x, rate := which(i)
			set[i] = sketchOf(rate, 0, x)
		}
		return Relate(set)
	}
	whole := func(tracks [][]float32, rate int, change func([]float32) []float32) func(int) ([]float32, int) {
		return func(i int) ([]float32, int) { return change(tracks[i]), rate }
	}
	base := sketched(whole(at48, 48000, plain))
	require.NotEmpty(t, base)
	for name, which := range map[string]func(int) ([]float32, int){
		"20 dB down": whole(at48, 48000, func(x []float32) []float32 { return gain(x, 0.1) }),
		"44.1 kHz":   whole(at44, 44100, plain),
		"3 s and 5 s of silence around": whole(at48, 48000, func(x []float32) []float32 {
			return slices.Concat(make([]float32, 3*48000), x, make([]float32, 5*48000))
		}),
		"one of them 20 dB down": func(i int) ([]float32, int) { return gain(at48[i], []float64{1, 1, 0.1, 1, 1, 1}[i]), 48000 },
		"one of them at 44.1 kHz": func(i int) ([]float32, int) {
			if i == 4 {
				return at44[i], 44100
			}
			return at48[i], 48000
		},
	} {
		t.Run(name, func(t *testing.T) {
			got := sketched(which)
			for i := range at48 {
				for j := range i {
					a, b := between(base, i, j), between(got, i, j)
					assert.Equal(t, a.Binding(), b.Binding(), "%d %d: %v %.2f, was %v %.2f", i, j, b.Kind, b.Confidence, a.Kind, a.Confidence)
					if a.Binding() {
						assert.Equal(t, a.Kind == Return, b.Kind == Return, "%d %d", i, j)
						assert.Equal(t, [2]int{a.A, a.B}, [2]int{b.A, b.B})
					}
				}
			}
		})
	}
}

// TestSparse: two microphones before a sound that comes three times in a minute, among silence.
func TestSparse(t *testing.T) {
	n := 60 * testRate
	a := make([]float32, n)
	for _, at := range []int{5, 29, 52} {
		copy(a[at*testRate:], hits(0.4, testRate, uint64(at), 0))
	}
	r := between(Relate([]Sketch{sketchOf(testRate, 0, a), sketchOf(testRate, 0, gain(delayed(a, 20), 0.1))}), 0, 1)
	assert.Contains(t, []Kind{Identical, Copy, Sides}, r.Kind, "%+v", r)
	assert.InDelta(t, 20.0/testRate, r.LagSeconds*float64(2*r.A-1), 5e-5)
}

func TestEmpty(t *testing.T) {
	assert.Empty(t, Relate(nil))
	assert.Empty(t, Compare(nil).Evidence())
	assert.Empty(t, Relate([]Sketch{{}}))
	assert.Empty(t, Relate([]Sketch{{}, {}}))
}

func TestKindNames(t *testing.T) {
	assert.Equal(t, "sum", Sum.String())
	assert.Equal(t, "unknown", Kind(99).String())
	ties := []Kind{Identical, Copy, Processed, Sides, Sum, Return}
	for k := Unrelated; k <= Bleed; k++ {
		assert.Equal(t, slices.Contains(ties, k), k.Tie(), k)
	}
}
