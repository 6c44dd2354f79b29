package page

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/plan/printcheck"
	"foldout/testdata/pages"
)

// invented is a result with everything in it that a page can show.
func invented() *printcheck.Result {
	r := &printcheck.Result{
		Mix: printcheck.File{Name: "<b>mix</b>.wav"}, Print: printcheck.File{Name: "a print \u202e.wav"}, DelaySamples: 613.42, DelayMS: 12.78, DelayReading: "linear phase", GainDB: -0.2,
		Polarity: "normal", LinearResidualDB: -52.3, Sides: [2]printcheck.Side{{GainDB: -0.19}, {GainDB: -0.21}}, Notes: []string{"the print is <i>odd</i>"},
		Levels: printcheck.Levels{DurationS: 61.5, Mix: printcheck.Level{IntegratedLUFS: -18, CrestDB: features.DB(math.Inf(-1))}, Print: printcheck.Level{IntegratedLUFS: -18.2}},
		Noise:  &printcheck.Noise{DBFS: -80, DBFSA: -84, MixDBFS: -50}, Hum: &printcheck.Hum{Hz: 50, DBFS: -90}, Harm: &printcheck.Harmonics{SecondPercent: 0.1},
		Width:  []printcheck.Width{{FromHz: 20, ToHz: 200, MixSideDB: features.DB(math.Inf(-1)), PrintSideDB: -30}},
		Lossy:  &printcheck.Lossy{CutoffHz: 16000, Text: "the top is cut off at 16 kHz"},
		Claims: []printcheck.Claim{{Claim: "wider", Verdict: printcheck.Yes, Text: "by 1 dB"}, {Claim: "warmer", Verdict: printcheck.No, Text: "by 0 dB"}, {Claim: "more headroom", Verdict: printcheck.Unknown, Text: "too short"}},
	}
	for i, hz := range []float64{25, 100, 400, 1600, 6300, 16000} {
		r.Bands = append(r.Bands, printcheck.Band{Hz: hz, DB: 0.5 - 0.2*float64(i), CIDB: 0.1, Coherence: 1 - math.Pow(10, -float64(i+2))})
	}
	r.Register = []printcheck.Register{{Name: "lows", FromHz: 60, ToHz: 250, DB: 0.3, CIDB: 0.1}}
	for i := range 5 {
		r.Curve = append(r.Curve, printcheck.CurvePoint{LevelDBFS: -45 + 8*float64(i), GainDB: 0.4 - 0.2*float64(i), CIDB: 0.05, Frames: 100})
	}
	for range shownEvents + 3 {
		r.Events = append(r.Events, printcheck.Event{Kind: "click", Side: "left", MixS: 61.25, LengthMS: 1, LevelDBFS: -20})
	}
	return r
}

func TestThePageHoldsTheResultAndLooksRight(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, invented()))
	html := b.String()
	for _, want := range []string{"613.42 samples", "1 are true here, 1 are not, 1 cannot be told", "−0.20 dB", "Third octaves", "Gain by level", "1:01.250", "and 3 more", "cut off at 16 kHz", "&lt;b&gt;mix", "the print is &lt;i&gt;odd"} {
		assert.Contains(t, html, want)
	}
	for _, bad := range []string{"<script", "NaN", "Inf", "\u202e", "http://", "https://"} {
		assert.NotContains(t, html, bad)
	}
	assert.Equal(t, 3, strings.Count(html, "<svg"))
	assert.Equal(t, 2, strings.Count(html, "<polygon"), "intervals of tone and level")
	p := pages.Open(t, b.Bytes())
	p.Sound(t)
	a4, _ := p.Papers(t)
	assert.LessOrEqual(t, a4, 5)
}

// A result of little: nothing to draw by level, no noise, no hum.
func TestAPageOfLittle(t *testing.T) {
	r := &printcheck.Result{Mix: printcheck.File{Name: "m"}, Print: printcheck.File{Name: "p"}, Bands: []printcheck.Band{{Hz: 1000, Coherence: 1}}}
	var b bytes.Buffer
	require.NoError(t, Write(&b, r))
	assert.Equal(t, 2, strings.Count(b.String(), "<svg"))
	assert.Contains(t, b.String(), "no passage is soft enough")
}
