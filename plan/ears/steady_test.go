package ears_test

import (
	"encoding/csv"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/examples/demo"
	"foldout/features/spectrum"
	"foldout/features/timbre"
	"foldout/features/wavfile"
	"foldout/plan/ears"
)

// family is what a fold never cuts, as testdata/rolemodel/partitions.py has it. Lead and backing voices count as one: the
// sound of one track hardly tells them apart.
var family = map[string]string{"kick": "close drums", "snare": "close drums", "tom": "close drums", "drums": "close drums",
	"hat": "cymbals", "cymbal": "cymbals", "overhead": "cymbals", "piano": "keys", "organ": "keys",
	"lead vocal": "voices", "backing vocal": "voices"}

func heard(planes [][]float32, rate int) (best string, vector []float32) {
	m := timbre.New(rate, len(planes))
	s := spectrum.NewStream(rate, len(planes), m)
	s.Write(planes)
	s.Close()
	m.Write(planes)
	sum := map[string]float64{}
	vector = m.Vector()
	for i, p := range ears.Probabilities(vector) {
		f, ok := family[ears.Roles[i]]
		if !ok {
			f = ears.Roles[i]
		}
		sum[f] += p
	}
	for f, p := range sum {
		if best == "" || p > sum[best] {
			best = f
		}
	}
	return best, vector
}

// spreads are the usual spreads of the elements, as the table of roles has them.
func spreads(t *testing.T) []float64 {
	f, err := os.Open("role.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	out := make([]float64, len(timbre.Names))
	for _, r := range rows[2:] {
		if e := slices.Index(timbre.Names, r[0]); e >= 0 {
			out[e], err = strconv.ParseFloat(r[2], 64)
			require.NoError(t, err)
		}
	}
	return out
}

func each(planes [][]float32, f func(x []float32) []float32) [][]float32 {
	out := make([][]float32, len(planes))
	for c, x := range planes {
		out[c] = f(x)
	}
	return out
}

// resample reads x at another rate through a Hann-windowed sinc of 24 points.
func resample(x []float32, from, to int) []float32 {
	const reach, steps = 12, 512
	cut := math.Min(1, float64(to)/float64(from)) * 0.97
	kernel := make([]float64, 2*reach*steps+1)
	for i := range kernel {
		t := float64(i)/steps - reach
		kernel[i] = cut * (0.5 + 0.5*math.Cos(math.Pi*t/reach))
		if t != 0 {
			kernel[i] *= math.Sin(math.Pi*cut*t) / (math.Pi * cut * t)
		}
	}
	out := make([]float32, len(x)*to/from)
	for i := range out {
		at := float64(i) * float64(from) / float64(to)
		k := int(at)
		var s float64
		for j := max(0, k-reach+1); j < min(len(x), k+reach); j++ {
			s += float64(x[j]) * kernel[int((float64(j)-at+reach)*steps+0.5)]
		}
		out[i] = float32(s)
	}
	return out
}

func silence(seconds float64, rate int) []float32 { return make([]float32, int(seconds*float64(rate))) }

// What a track is does not depend on silence before, after or between, on gain, polarity or rate, and seldom on which half
// of it is heard: ten seconds of a part can be other music than the ten before. The material is the demo song; which family a track belongs to is not asked here, only that it stays.
func TestTheFamilyStaysWhenOnlyTheFileChanges(t *testing.T) {
	if testing.Short() {
		t.Skip("performs the demo song and measures it ten times")
	}
	dir := t.TempDir()
	require.NoError(t, demo.Render(t.Context(), dir, nil))
	paths, err := filepath.Glob(filepath.Join(dir, "*.wav"))
	require.NoError(t, err)
	changes := map[string]func(planes [][]float32, rate int) ([][]float32, int){
		"as much silence after": func(p [][]float32, rate int) ([][]float32, int) {
			return each(p, func(x []float32) []float32 { return append(append([]float32(nil), x...), make([]float32, len(x))...) }), rate
		},
		"as much silence before": func(p [][]float32, rate int) ([][]float32, int) {
			return each(p, func(x []float32) []float32 { return append(make([]float32, len(x)), x...) }), rate
		},
		"10 s of silence between": func(p [][]float32, rate int) ([][]float32, int) {
			return each(p, func(x []float32) []float32 {
				out := append(append([]float32(nil), x[:len(x)/2]...), silence(10, rate)...)
				return append(out, x[len(x)/2:]...)
			}), rate
		},
		"12 dB lower": func(p [][]float32, rate int) ([][]float32, int) {
			return each(p, func(x []float32) []float32 { return scaled(x, 0.2512) }), rate
		},
		"other polarity": func(p [][]float32, rate int) ([][]float32, int) {
			return each(p, func(x []float32) []float32 { return scaled(x, -1) }), rate
		},
		"44.1 kHz": func(p [][]float32, rate int) ([][]float32, int) {
			return each(p, func(x []float32) []float32 { return resample(x, rate, 44100) }), 44100
		},
		"96 kHz": func(p [][]float32, rate int) ([][]float32, int) {
			return each(p, func(x []float32) []float32 { return resample(x, rate, 96000) }), 96000
		},
		"first half": func(p [][]float32, rate int) ([][]float32, int) { return part(p, 0, 1), rate },
		"other half": func(p [][]float32, rate int) ([][]float32, int) { return part(p, 1, 2), rate },
	}
	spread, moved := spreads(t), map[string][]float64{} // by change: track by track, element by element, in spreads
	var all, same, halves, sameHalves int
	for _, path := range paths {
		planes, rate := load(t, path)
		planes = loudest(planes, 20*rate)
		if quiet(planes) {
			continue
		}
		want, usual := heard(planes, rate)
		for name, change := range changes {
			y, r := change(planes, rate)
			if quiet(y) {
				continue
			}
			half := strings.Contains(name, "half")
			all++
			if half {
				halves++
			}
			got, vector := heard(y, r)
			if !half {
				for e, v := range vector {
					moved[name] = append(moved[name], math.Abs(float64(v-usual[e]))/spread[e])
				}
			}
			if got == want {
				same++
				if half {
					sameHalves++
				}
			} else {
				t.Logf("%s, %s: %s instead of %s", filepath.Base(path), name, got, want)
			}
		}
	}
	require.Greater(t, all, 200)
	t.Logf("%d of %d changes of the file, %d of %d halves", same-sameHalves, all-halves, sameHalves, halves)
	// 99 % is wanted; the table that was chosen on bodies left out reaches 98.7: a pad, and a voice that is half a guitar to it, twice
	assert.GreaterOrEqual(t, float64(same-sameHalves)/float64(all-halves), 0.99, "%d of %d changes of the file", same-sameHalves, all-halves)
	assert.GreaterOrEqual(t, float64(sameHalves)/float64(halves), 0.85, "%d of %d halves", sameHalves, halves)
	for name, m := range moved {
		elementsStay(t, name, m)
	}
}

// elementsStay asks of every element of the vector that a change of the file leaves it where it was. The elements that move are
// those of beginnings: a stretch cut out of a song and put behind silence begins where the song did not.
func elementsStay(t *testing.T, name string, moved []float64) {
	far, n := make([]int, len(timbre.Names)), len(moved)/len(timbre.Names)
	total := 0
	for i, v := range moved {
		if v > 0.5 {
			far[i%len(far)]++
			total++
		}
	}
	assert.LessOrEqual(t, float64(total)/float64(len(moved)), 0.04, "%s: %d of %d elements moved by more than half a spread", name, total, len(moved))
	for e, f := range far {
		if name == "12 dB lower" || name == "other polarity" {
			assert.Zero(t, f, "%s: %s", name, timbre.Names[e])
		}
		if f > n/4 {
			t.Logf("%s: %s moved by more than half a spread in %d of %d tracks", name, timbre.Names[e], f, n)
		}
		assert.LessOrEqual(t, f, 2*n/3, "%s: %s", name, timbre.Names[e])
	}
}

func scaled(x []float32, g float32) []float32 {
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = g * v
	}
	return out
}

// part cuts a track where half of its energy has passed, so that each half sounds.
func part(planes [][]float32, from, to int) [][]float32 {
	var all, run float64
	for _, x := range planes {
		for _, v := range x {
			all += float64(v) * float64(v)
		}
	}
	cut := 0
	for ; cut < len(planes[0]) && run < all/2; cut++ {
		for _, x := range planes {
			run += float64(x[cut]) * float64(x[cut])
		}
	}
	at := [3]int{0, cut, len(planes[0])}
	return each(planes, func(x []float32) []float32 { return x[at[from]:at[to]] })
}

// loudest is the stretch of n samples with the most energy, to half a second.
func loudest(planes [][]float32, n int) [][]float32 {
	step, best, at := n/40, -1.0, 0
	if len(planes[0]) <= n {
		return planes
	}
	for i := 0; i+n <= len(planes[0]); i += step {
		var e float64
		for _, x := range planes {
			for k := i; k < i+n; k += 7 {
				e += float64(x[k]) * float64(x[k])
			}
		}
		if e > best {
			best, at = e, i
		}
	}
	return each(planes, func(x []float32) []float32 { return x[at : at+n] })
}

func quiet(planes [][]float32) bool {
	for _, x := range planes {
		for _, v := range x {
			if v > 1e-3 || v < -1e-3 {
				return false
			}
		}
	}
	return true
}

func load(t *testing.T, path string) (planes [][]float32, rate int) {
	t.Helper()
	_, err := os.Stat(path)
	require.NoError(t, err)
	r, err := wavfile.Open(path)
	require.NoError(t, err)
	defer r.Close()
	info := r.Info()
	planes = make([][]float32, info.Channels)
	rest := make([][]float32, info.Channels)
	for c := range planes {
		planes[c] = make([]float32, info.Frames)
	}
	for at := 0; at < int(info.Frames); {
		for c := range planes {
			rest[c] = planes[c][at:]
		}
		n, err := r.Read(rest)
		at += n
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
	}
	return planes, info.SampleRateHz
}
