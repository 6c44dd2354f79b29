package blind

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Expected values: exact binomial tail, scipy.stats.binom.sf(k-1, n, rate), scipy 1.10.1. The least numbers for 0.05 agree with
// published tables of ABX tests for n = 10 to 25.
func TestTailsAgreeWithScipy(t *testing.T) {
	for _, c := range []struct {
		n, needed int
		p, fewer  float64
		power     map[float64]float64
	}{
		{8, 7, 0.03515625, 0.14453125, map[float64]float64{0.6: 0.1064, 0.7: 0.2553, 0.75: 0.3671, 0.8: 0.5033, 0.9: 0.8131}},
		{10, 9, 0.0107421875, 0.0546875, map[float64]float64{0.6: 0.0464, 0.7: 0.1493, 0.75: 0.2440, 0.8: 0.3758, 0.9: 0.7361}},
		{12, 10, 0.019287109375, 0.072998, map[float64]float64{0.6: 0.0834, 0.75: 0.3907, 0.9: 0.8891}},
		{16, 12, 0.0384063720703125, 0.105057, map[float64]float64{0.6: 0.1666, 0.7: 0.4499, 0.75: 0.6302, 0.8: 0.7982, 0.9: 0.9830}},
		{20, 15, 0.020694732666015625, 0.057659, map[float64]float64{0.6: 0.1256, 0.75: 0.6172, 0.9: 0.9887}},
		{25, 18, 0.021642625331878662, 0.053876, map[float64]float64{0.6: 0.1536, 0.7: 0.5118, 0.75: 0.7265, 0.8: 0.8909, 0.9: 0.9977}},
	} {
		assert.Equal(t, c.needed, Needed(c.n), "%d trials", c.n)
		assert.InDelta(t, c.p, AtLeast(c.needed, c.n, 0.5), 1e-12)
		assert.InDelta(t, c.fewer, AtLeast(c.needed-1, c.n, 0.5), 1e-6)
		for rate, want := range c.power {
			assert.InDelta(t, want, Power(c.n, rate), 5e-5, "%d trials at %g", c.n, rate)
		}
	}
	for n, k := range map[int]int{5: 5, 6: 6, 7: 7, 9: 8, 11: 9, 13: 10, 14: 11, 15: 12, 17: 13, 18: 13, 19: 14, 21: 15, 22: 16, 23: 16, 24: 17, 30: 20, 40: 26, 50: 32, 60: 37, 100: 59} {
		assert.Equal(t, k, Needed(n), "%d trials", n)
	}
	for n := range 5 {
		assert.Equal(t, n+1, Needed(n), "%d trials cannot pass", n)
	}
}

// Leventhal, JAES 34(6), 437-453, 1986, table for 15 trials: misses of a listener at a true rate.
func TestLeventhal(t *testing.T) {
	for rate, miss := range map[float64]float64{0.6: 0.9095, 0.7: 0.7031, 0.75: 0.5387, 0.8: 0.3518} {
		assert.InDelta(t, miss, 1-AtLeast(12, 15, rate), 5e-5)
	}
	assert.InDelta(t, 0.0176, AtLeast(12, 15, 0.5), 5e-5)
	assert.InDelta(t, 0.0592, AtLeast(11, 15, 0.5), 5e-5)
}

func TestWords(t *testing.T) {
	assert.Equal(t, "9 of 16: not shown to be audible here (p = 0.40; 12 were needed). That is no proof that there is no difference: with 16 trials only a listener right 4 times of 5 would have passed four times of five.", abxWords(9, 16))
	assert.Contains(t, abxWords(12, 16), "12 of 16: heard.")
	assert.Contains(t, abxWords(11, 16), "not shown")
	assert.Contains(t, abxWords(16, 16), "in 1 of 65536 tests")
	assert.InDelta(t, 0.076812744140625, TwoSided(12, 16), 1e-12) // twice the tail above
	assert.InDelta(t, 0.0212707519531, TwoSided(13, 16), 1e-9)    // scipy.stats.binomtest(13, 16).pvalue
	assert.Equal(t, 1.0, TwoSided(8, 16))
	assert.Contains(t, preferenceWords(12, 16, "A", "B"), "no liking is shown")
	assert.Contains(t, preferenceWords(2, 16, "A", "B"), "A was liked better 14 times")
}
