package lesson

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/channel"
	"foldout/plan/sheet"
	"foldout/plan/stems"
	"foldout/testdata/signal"
)

const rate = 48000

func sine(hz, amplitude, seconds float64) []float32 {
	return signal.Sine(int(seconds*rate), rate, hz, amplitude)
}

// excerpt makes an Excerpt of waveforms.
func excerpt(pair []int, x ...[]float32) *Excerpt {
	e := &Excerpt{RateHz: rate, Pair: pair, x: x}
	for t, w := range x {
		e.Files = append(e.Files, string(rune('a'+t))+".wav")
		e.low = append(e.low, lowBand(w, rate))
		e.Pairs = max(e.Pairs, pair[t]+1)
	}
	return e
}

// A kick at 60 Hz with amplitude A beside a soft voice: m = 2 a2 A at the kick's frequency, four times its second
// harmonic; m = 1.5 |a3| A^2 / (1 + 1.5 a3 A^2) at twice that; the voice is lowered to 1 + 1.5 a3 A^2 (expansion of the power
// series; the figures for A = 0.8, confirmed with an FFT of a second at 48 kHz: 8.0000 %, 6.3830 %, -0.5374 dB).
func TestASoftTrackBesideALoudOneHasTheTextbookModulation(t *testing.T) {
	const a = 0.8
	p := a * a / 2
	assert.InDelta(t, 0.08, index(channel.Channel{A2: 0.05}, p, p), 1e-9)
	assert.InDelta(t, 0.063830, index(channel.Channel{A3: -0.0625}, p, p), 1e-6)
	assert.InDelta(t, -0.5374, decibels(slow(channel.Channel{A3: -0.0625}, p)), 1e-4)

	// The whole way, from waveforms: the kick's pair at the operating level has A = 1.
	kick, voice := sine(60, 0.5, 6), sine(1000, 0.005, 6)
	for i := range kick[:3*rate] {
		kick[i] = 0 // it enters after three seconds
	}
	c := channel.Channel{A2: 0.02, A3: -0.02}
	e := excerpt([]int{0, 0}, kick, voice)
	m := e.Modulation(e.Pair, 1, c, 0)
	require.True(t, m[1].Sounds)
	assert.InDelta(t, math.Hypot(2*0.02, 1.5*0.02)/(1-1.5*0.02), m[1].Fast, 0.002)
	assert.InDelta(t, -decibels(1-1.5*0.02), m[1].SwingDB, 0.01)
	// Its own channel: nothing at all.
	apart := e.Modulation([]int{0, 1}, 2, c, 0)
	assert.Zero(t, apart[1].Fast)
	assert.Zero(t, apart[1].SwingDB)
	// 6 dB more drive: m from a2 doubles, the dip from a3 is four times as deep.
	harder := e.Modulation(e.Pair, 1, channel.Channel{A2: 0.002}, 6.0206)
	softer := e.Modulation(e.Pair, 1, channel.Channel{A2: 0.002}, 0)
	assert.InDelta(t, 2, harder[1].Fast/softer[1].Fast, 1e-3)
}

// Second harmonic 50 dB below a tone of 1 kHz, 4.5 Bark above it. Terhardt's upper slope at 83 dB is 7.6 dB per Bark and at
// 58 dB 12.6: the loud tone covers it, the soft one beside a loud noise far below does not.
func TestWhatIsAddedIsCoveredByALoudToneOnly(t *testing.T) {
	tone := make([]float64, 4*rate)
	added := make([]float64, len(tone))
	for i := range tone {
		tone[i] = math.Sin(2 * math.Pi * 1000 * float64(i) / rate)
		added[i] = math.Pow(10, -50.0/20) * math.Sin(2*math.Pi*2000*float64(i)/rate)
	}
	assert.Less(t, cellsAt(compare(tone, added, rate)), 0.02, "covered")
	// The same tone 25 dB softer while a burst sets the level of loud passages.
	quiet := make([]float64, len(tone))
	soft := make([]float64, len(tone))
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range tone {
		quiet[i] = tone[i] * math.Pow(10, -25.0/20)
		soft[i] = added[i] * math.Pow(10, -25.0/20)
		if i > len(tone)*9/10 {
			quiet[i] = rng.NormFloat64() * math.Sqrt(0.5)
		}
	}
	assert.Greater(t, cellsAt(compare(quiet, soft, rate)), 0.02, "not covered")
}

func cellsAt(u Unmasked) float64 { return u.Cells }

// The slopes at 1 kHz are those tabled for the model: 16.230 dB per Bark at 40 dB, 8.230 at 80.
func TestMaskersFallOffAsTabled(t *testing.T) {
	band := int(barkOf(1000))
	assert.InDelta(t, 8.5, barkOf(1000), 0.1, "Zwicker and Terhardt 1980")
	for level, slope := range map[float64]float64{40: 16.23, 80: 8.23} {
		var p [barkBands]float64
		p[band] = 1
		out := spread(p, level)
		assert.InDelta(t, slope, 10*math.Log10(out[band]/out[band+1]), 0.05)
		assert.InDelta(t, 27, 10*math.Log10(out[band]/out[band-1]), 1e-9)
	}
}

func TestTheLessonOfASmallSession(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, x []float32) {
		w, err := wavfile.Create(filepath.Join(dir, name), wavfile.Format{SampleRateHz: rate, Channels: 1, Encoding: wavfile.Float32}, false)
		require.NoError(t, err)
		require.NoError(t, w.Write([][]float32{x}))
		require.NoError(t, w.Close())
	}
	write("Kick.wav", sine(60, 0.8, 4))
	write("Bass.wav", sine(90, 0.3, 4))
	write("Vox.wav", sine(700, 0.1, 4))
	doc := &sheet.Sheet{Schema: sheet.SchemaVersion, Title: "Song", Folder: dir, Pairs: []sheet.Pair{
		{Name: "Rhythm", Tracks: []sheet.Placement{{File: "Kick.wav", Role: "kick"}, {File: "Bass.wav", Role: "bass"}}},
		{Name: "Vocals", Tracks: []sheet.Placement{{File: "Vox.wav", Role: "lead vocal"}}}}}
	e, err := Load(t.Context(), doc, stems.Options{}, nil)
	require.NoError(t, err)
	l := Teach(e, doc)
	require.Len(t, l.Tracks, 3)
	voice, _, n := l.Means(true)
	assert.Equal(t, 1, n)
	assert.Zero(t, voice.Fast, "alone on its pair")
	assert.Greater(t, l.Tracks[0].Here.Fast, 0.0)
	for i := range l.Drives[1:] {
		assert.Greater(t, l.Drives[i+1].Fast, l.Drives[i].Fast, "more drive modulates more")
	}
	for name, draw := range map[string]func(io.Writer) error{"page": l.WritePage, "modulation": l.DrawModulation, "added": l.DrawAdded} {
		var b bytes.Buffer
		require.NoError(t, draw(&b), name)
		d := xml.NewDecoder(&b)
		d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
		for {
			_, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err, name)
		}
	}
}
