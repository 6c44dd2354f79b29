package portrait

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/plan/linecheck/trace"
	"foldout/testdata/pages"
)

func invented() *trace.Result {
	yes, no, one := true, false, 1
	flat := []trace.Point{{Hz: 30, DB: -0.5}, {Hz: 1000, DB: 0}, {Hz: 16000, DB: -0.2}}
	bass := []trace.Harmonic{{Order: 2, Points: []trace.Point{{Hz: 50, DB: -80}, {Hz: 1000, DB: -80}}}, {Order: 3, Points: []trace.Point{{Hz: 50, DB: -50}, {Hz: 1000, DB: -70}}}}
	return &trace.Result{
		Return: "<b>return</b>.wav", SampleRateHz: 48000, Unit: `Quern "stone" <16>`, ToneDBFS: -18, GainDB: 0, NoiseDBFS: -88, NoiseADBFS: -90,
		Channels: []trace.Channel{
			{Output: 1, Label: "Output 1", Alive: &yes, Side: "left", Polarity: "inverted", THDPercent: 0.03, CrosstalkDB: -80, Response: flat, Harmonics: bass},
			{Output: 2, Label: "Output 2", Alive: &no},
		},
		Verdicts:   []trace.Verdict{{Severity: trace.Fault, Output: &one, Text: "Output 1 arrives with inverted polarity."}, {Severity: trace.Note, Text: "A note."}},
		CannotTell: []string{"Two pairs swapped."},
	}
}

func TestPageHoldsTheResult(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, invented()))
	page := b.String()
	for _, want := range []string{"Output 1 arrives with inverted polarity.", "There is one fault", "Quern &#34;stone&#34; &lt;16&gt;", "Two pairs swapped.", "Portrait of the unit", "<polyline", "dead"} {
		assert.Contains(t, page, want)
	}
	assert.NotContains(t, page, "<b>return", "names are escaped")
	assert.NotContains(t, page, "<script")
	assert.NotContains(t, page, "http://")
	assert.NotContains(t, page, "NaN")
	for _, part := range strings.Split(page, "<svg")[1:] {
		d := xml.NewDecoder(strings.NewReader("<svg" + part[:strings.Index(part, "</svg>")+6]))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else {
				require.NoError(t, err, "the drawing is well-formed")
			}
		}
	}
}

func TestThePageLooksRight(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, invented()))
	pages.Open(t, b.Bytes()).Sound(t)
}

func TestWordsOfThePortrait(t *testing.T) {
	words := strings.Join(Words(invented()), "\n")
	assert.Contains(t, words, "mostly the third harmonic (-70 dB)")
	assert.Contains(t, words, "At 50 Hz it rises to -50 dB")
	assert.Contains(t, words, "70 dB under the tone")
	assert.Empty(t, Words(&trace.Result{}))
	assert.Equal(t, "+0.00", figure("%+.2f", features.DB(-0.0004)))
}
