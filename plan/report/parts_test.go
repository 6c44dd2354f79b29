package report

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features"
	"foldout/plan/sheet"
)

var silence = func() sheet.Measured {
	none := features.DB(math.Inf(-1))
	m := sheet.Measured{IntegratedLUFS: none, TruePeakDBTP: none, ActiveRMSDBFS: none, CrestDB: features.DB(math.NaN())}
	for b := range m.OctaveDB {
		m.OctaveDB[b] = none
	}
	return m
}()

func TestHull(t *testing.T) {
	for _, c := range []struct {
		name     string
		in, want []point
	}{
		{"none", nil, nil},
		{"one", []point{{1, 2}}, []point{{1, 2}}},
		{"the same twice", []point{{1, 2}, {1, 2}}, []point{{1, 2}}},
		{"on a line", []point{{2, 2}, {0, 0}, {1, 1}}, []point{{0, 0}, {2, 2}}},
		{"square with a point inside and one on an edge", []point{{0, 0}, {4, 0}, {4, 4}, {0, 4}, {2, 1}, {2, 0}}, []point{{0, 0}, {4, 0}, {4, 4}, {0, 4}}}, // by hand
	} {
		t.Run(c.name, func(t *testing.T) { assert.ElementsMatch(t, c.want, hull(c.in)) })
	}
}

func TestOutlineIsClosed(t *testing.T) {
	assert.Empty(t, outline(nil, 5))
	for _, h := range [][]point{{{1, 2}}, {{0, 0}, {3, 4}}, {{0, 0}, {4, 0}, {4, 4}}} {
		path := outline(h, 5)
		assert.True(t, strings.HasPrefix(path, "M") && strings.HasSuffix(path, "Z"), path)
		assert.NotContains(t, path, "NaN")
	}
	assert.True(t, strings.HasPrefix(outline([]point{{0, 0}, {4, 0}, {4, 4}}, 5), "M0.0 -5.0 L4.0 -5.0 A5 5 0 0 1 9.0 0.0 L9.0 4.0"), "five units outside the edges, by hand")
}

func TestAxis(t *testing.T) {
	for _, c := range []struct{ hz, want float64 }{
		{0, 0}, {math.NaN(), 0}, {-5, 0}, {lowestHz, 0}, {highestHz, boxWide}, {1e6, boxWide},
		{math.Sqrt(lowestHz * highestHz), boxWide / 2}, // middle of a logarithmic axis
	} {
		assert.InDelta(t, c.want, axisX(c.hz), 1e-9, "%g Hz", c.hz)
	}
	last := registers[len(registers)-1]
	assert.InDelta(t, boxWide, last.X+last.Wide, 1e-9)
}

func TestRidge(t *testing.T) {
	assert.Zero(t, (&bands{}).heights(0), "silence is flat")
	var p bands
	p[3], p[4], p[5] = 1, 0.001, 1e-9
	h := p.heights(p.top())
	assert.Equal(t, 1.0, h[3])
	assert.InDelta(t, 1-30/rangeDB, h[4], 1e-12) // a thousandth of the power is 30 dB less
	assert.Zero(t, h[5], "more than the range below the top")
	path := ridge(h)
	assert.True(t, strings.HasPrefix(path, "M0 100 L0.0 100.0 C") && strings.HasSuffix(path, "L1000 100 Z"), path)
	for _, m := range strings.FieldsFunc(path, func(r rune) bool { return r == ' ' || r >= 'A' && r <= 'Z' }) {
		assert.NotContains(t, m, "-", "never above the box or below its base")
	}
}

func TestPowerAddsUp(t *testing.T) {
	m := sheet.Measured{ActiveRMSDBFS: -20, ActiveShare: 0.5}
	for b := range m.OctaveDB {
		m.OctaveDB[b] = -10 // a tenth each
	}
	p := powerOf(&m)
	assert.InDelta(t, 0.0005, p[0], 1e-12) // 10^-2 half of the time, a tenth of it
	sum := p
	sum.add(p)
	assert.InDelta(t, 0.001, sum.top(), 1e-12)
	assert.Zero(t, powerOf(&silence))
}

func TestWhere(t *testing.T) {
	var low, wide bands
	low[2] = 1
	wide[1], wide[7] = 1, 0.5
	assert.Equal(t, "low", where(low))
	assert.Equal(t, "low to upper-mid", where(wide)) // IEC 61260-1: the exact middles of these bands are 63.1 Hz and 3981 Hz
	assert.Equal(t, "silent", where(bands{}))
}

func TestNamesOnTheMapStayClearOfOneAnother(t *testing.T) {
	for _, n := range []int{1, 12, 40, 100} {
		f := field(invented(n, min(n, 8)))
		assert.Len(t, f.Tracks, n)
		assert.Equal(t, n, len(f.Labels)+f.Unnamed)
		var boxes []box
		for _, l := range f.Labels {
			wide := float64(len([]rune(l.Text))) * labelSize * labelWide
			left := map[string]float64{"start": l.X, "end": l.X - wide, "middle": l.X - wide/2}[l.Anchor]
			b := box{left, l.Y - labelSize*0.8, left + wide, l.Y + labelSize*0.25}
			for _, other := range boxes {
				assert.False(t, b.meets(other), "%q lies on another name", l.Text)
			}
			boxes = append(boxes, b)
		}
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct {
		in   any
		want string
		plus string
	}{
		{features.DB(-3.14), "−3.1", "−3.1"}, {features.DB(2), "2.0", "+2.0"}, {0.0, "0.0", "0.0"}, {-0.01, "0.0", "0.0"}, {0.01, "0.0", "0.0"},
		{features.DB(math.Inf(-1)), "–", "–"}, {math.NaN(), "–", "–"},
	} {
		assert.Equal(t, c.want, decibels(c.in))
		assert.Equal(t, c.plus, signedDecibels(c.in))
	}
	assert.Equal(t, "a b c", plain("a\nb\tc"))
	assert.Equal(t, "cba", plain("\u202ecba\u0000\u2066"), "nothing turns the text around it")
	assert.Equal(t, "drums/Kick.In", trackName("drums/Kick.In.wav"))
	assert.Equal(t, "Kick", shortName("drums/Kick.wav"))
	assert.Equal(t, []string{"One.", "Two, 3.5 dB."}, sentences("One. Two, 3.5 dB."))
	assert.Equal(t, "3\u202fdB → 4\u202fkHz", typeset("3 dB -> 4 kHz"))
	assert.Equal(t, "", list(nil))
	assert.Equal(t, "a, b and c", list([]string{"a", "b", "c"}))
	assert.Equal(t, "abc…", clipped("abcdef", 4))
}

func TestComparisonsAreShortInTheirLane(t *testing.T) {
	// by hand
	r := sheet.Reason{Fact: "tonality 0.19", Comparison: &sheet.Comparison{Nearer: "Drums", NearerValue: 0.56, Farther: "Bass", FartherValue: 0.89}}
	assert.Equal(t, "tonality 0.19 (this pair 0.56, next 0.89)", inLane(&r))
	assert.Equal(t, "tonality 0.19: nearer to Drums (0.56) than to Bass (0.89)", r.Text())
	assert.Equal(t, "kick by name and ear (93 %)", inLane(&sheet.Reason{Fact: "kick by name and ear", Detail: "93 %"}))
}

func TestPairsDifferWithoutColour(t *testing.T) {
	seen := map[[2]int]int{}
	for n := 1; n <= hues*hues; n++ {
		key := [2]int{hue(n), hatch(n)}
		assert.Zero(t, seen[key], "pairs %d and %d look alike", seen[key], n)
		seen[key] = n
	}
}
