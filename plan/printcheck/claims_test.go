package printcheck

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/testdata/underrace"
)

// strokes is an invented mix of twelve seconds: low strokes of 70 Hz twice a second, which fall by a factor e in so many
// seconds, and a broad bed of noise that breathes, with its own middle and sides.
func strokes(fall float64) stereo {
	rng := rand.New(rand.NewPCG(11, 12))
	n := 12 * testRate
	s := stereo{make([]float64, n), make([]float64, n)}
	every := testRate / 2
	for i := range n {
		t := float64(i%every) / testRate
		low := 0.25 * min(1, t/0.004) * math.Exp(-t/fall) * math.Sin(2*math.Pi*70*t)
		bed := 0.03 * (1 + 0.6*math.Sin(2*math.Pi*float64(i)/(3.1*testRate)))
		m, d := bed*rng.NormFloat64(), 0.5*bed*rng.NormFloat64()
		s[0][i], s[1][i] = low+m+d, low+m-d
	}
	return s
}

// sides changes the sides against the middle.
func sides(db float64) link {
	g := math.Pow(10, db/20)
	return func(s stereo) stereo {
		out := stereo{make([]float64, len(s[0])), make([]float64, len(s[0]))}
		for i := range s[0] {
			m, d := (s[0][i]+s[1][i])/2, g*(s[0][i]-s[1][i])/2
			out[0][i], out[1][i] = m+d, m-d
		}
		return out
	}
}

// spikes adds a peak of twice the highest sample once a second: the loudness hardly moves, the peaks do.
func spikes(s stereo) stereo {
	out := s.copy()
	for c := range out {
		peak := 0.0
		for _, v := range out[c] {
			peak = max(peak, math.Abs(v))
		}
		for i := testRate / 3; i < len(out[c]); i += testRate {
			out[c][i] += 2 * peak
		}
	}
	return out
}

func softened(v float64) float64 { return 0.12 * math.Tanh(v/0.12) }

// Every claim has a print for which it is true by its making, and one, or more, for which it is not.
func TestClaimsAreTrueWhereTheyAreMadeTrue(t *testing.T) {
	underrace.Skip(t)
	mix := strokes(0.3)
	dir := t.TempDir()
	m := save(t, filepath.Join(dir, "mix.wav"), testRate, mix)
	for n, c := range []struct {
		claim, why string
		print      stereo
		want       string
	}{
		{"lower end tighter", "strokes that fall twice as fast: 4 dB further at 140 ms", strokes(0.15), Yes},
		{"lower end tighter", "nothing changed", mix, No},
		{"lower end tighter", "strokes that ring longer", strokes(0.5), No},
		{"upper mids smoother", "2 dB less around 3.15 kHz", peaking(3150, -2.5, 0.7).apply()(mix), Yes},
		{"upper mids smoother", "nothing changed", mix, No},
		{"upper mids smoother", "2 dB more", peaking(3150, 2.5, 0.7).apply()(mix), No},
		{"wider", "1.5 dB more side", sides(1.5)(mix), Yes},
		{"wider", "nothing but gain", gain(-3)(mix), No},
		{"wider", "2 dB less side", sides(-2)(mix), No},
		{"more headroom", "peaks bent down", curved(softened)(mix), Yes},
		{"more headroom", "nothing but gain", gain(-6)(mix), No},
		{"more headroom", "spikes put in", spikes(mix), No},
	} {
		p := save(t, filepath.Join(dir, string(rune('a'+n))+".wav"), testRate, late(321.5)(c.print))
		r, err := Compare(t.Context(), m, p, Options{})
		require.NoError(t, err, c.why)
		assert.Equal(t, c.want, verdictOf(r, c.claim), "%s: %s: %+v", c.claim, c.why, r.Claims)
	}
}
