package stems

import (
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/sheet"
	"foldout/testdata/underrace"
)

// band makes a part of an invented song: a decaying tone struck at its own times over a little noise, so that parts differ
// in time and in spectrum.
func band(seed uint64, channels int, hz, every float64) [][]float64 {
	const frames = 6 * rate
	planes := noise(seed, channels, frames, 0.01)
	for c := range planes {
		for i := range planes[c] {
			s := math.Mod(float64(i)/rate+0.13*float64(seed), every)
			f := hz * (1 + 0.01*float64(c))
			planes[c][i] += 0.2 * math.Exp(-4*s) * (math.Sin(2*math.Pi*f*s) + 0.4*math.Sin(2*math.Pi*2.7*f*s))
		}
	}
	return planes
}

// ensemble is five tracks on two pairs, a sixth that was set aside and a seventh that the sheet does not know.
func ensemble(t testing.TB) *Session {
	dir := t.TempDir()
	put(t, dir,
		track{file: "kick.wav", planes: band(1, 1, 60, 0.5), encoding: wavfile.PCM24},
		track{file: "bass.wav", planes: band(2, 1, 110, 0.61), encoding: wavfile.PCM24},
		track{file: "piano.wav", planes: band(3, 2, 440, 0.73), encoding: wavfile.PCM24},
		track{file: "hat L.wav", planes: band(4, 1, 5000, 0.25), encoding: wavfile.PCM24},
		track{file: "hat R.wav", planes: band(5, 1, 5200, 0.29), encoding: wavfile.PCM24},
		track{file: "click.wav", planes: band(6, 1, 1500, 1), encoding: wavfile.PCM24},
		track{file: "strings.wav", planes: band(7, 2, 300, 1.7), encoding: wavfile.PCM24})
	s := sheetOf(dir, []string{"kick.wav", "bass.wav", "hat L.wav", "hat R.wav"}, []string{"piano.wav"})
	s.SetAside = []sheet.SetAside{{File: "click.wav"}}
	return open(t, s, Options{})
}

// mixOf sums tracks at gains: a number for each file, or the pan law's for all that are not named.
func mixOf(t testing.TB, s *Session, gains map[string][2]float64) [][]float64 {
	out := [][]float64{make([]float64, s.Frames), make([]float64, s.Frames)}
	add := func(tr *Track, g [2]float64) {
		planes, _ := load(t, tr.Path)
		for side := range out {
			for i, v := range planes[min(side, len(planes)-1)] {
				out[side][tr.Offset+int64(i)] += g[side] * v
			}
		}
	}
	s.each(func(tr *Track) {
		nominal := map[Pan][2]float64{Stereo: {1, 1}, Centre: {s.PanGain, s.PanGain}, Left: {1, 0}, Right: {0, 1}}[tr.Pan]
		if g, ok := gains[tr.File]; ok {
			nominal = g
		}
		add(tr, nominal)
	})
	for _, extra := range []string{"click.wav", "strings.wav"} {
		if g, ok := gains[extra]; ok {
			add(&Track{Path: filepath.Join(s.Folder, extra)}, g)
		}
	}
	return out
}

func each(planes [][]float64, f func(side, i int, v float64) float64) [][]float64 {
	out := make([][]float64, len(planes))
	for side := range planes {
		out[side] = make([]float64, len(planes[side]))
		for i, v := range planes[side] {
			out[side][i] = f(side, i, v)
		}
	}
	return out
}

// against writes stems and a mix and compares them.
func against(t testing.TB, s *Session, opt WriteOptions, mix track) *Null {
	t.Helper()
	return compared(t, s, write(t, s, opt), mix)
}

func compared(t testing.TB, s *Session, w *Written, mix track) *Null {
	t.Helper()
	dir := t.TempDir()
	mix.file = "mix.wav"
	put(t, dir, mix)
	n, err := s.Against(t.Context(), w, filepath.Join(dir, mix.file), nil)
	require.NoError(t, err)
	return n
}

// The limits are those of the rounding: a float32 below 1 is off by at most 2^-25, a dithered 24-bit sample by 1/2 step
// rms. Demanded are -130 and -120 dBFS.
func TestStemsCancelAgainstTheirMix(t *testing.T) {
	s := ensemble(t)
	mix := mixOf(t, s, nil)
	for _, c := range []struct {
		name string
		opt  WriteOptions
		mix  track
		most float64
	}{
		{"float against float", WriteOptions{Float: true}, track{planes: mix, encoding: wavfile.Float32}, -130},
		{"24 bits against float", WriteOptions{}, track{planes: mix, encoding: wavfile.Float32}, -120},
		{"float against 24 bits", WriteOptions{Float: true}, track{planes: mix, encoding: wavfile.PCM24}, -120},
		{"24 bits against 24 bits", WriteOptions{}, track{planes: mix, encoding: wavfile.PCM24}, -120},
		{"with a gain undone", WriteOptions{GainDB: -6}, track{planes: mix, encoding: wavfile.PCM24}, -120},
		{"with a gain on the mix, too", WriteOptions{GainDB: -6}, track{planes: each(mix, func(_, _ int, v float64) float64 { return v * math.Pow(10, -0.3) }), encoding: wavfile.PCM24}, -120},
		{"16 bits", WriteOptions{}, track{planes: mix, encoding: wavfile.PCM16}, -80},
		{"a mix with a time reference", WriteOptions{Float: true}, track{planes: mix, encoding: wavfile.Float32, ref: 999999}, -130},
	} {
		t.Run(c.name, func(t *testing.T) {
			n := against(t, s, c.opt, c.mix)
			assert.True(t, n.Nulls)
			assert.Less(t, float64(n.ResidualRMSDBFS), c.most)
			assert.Nil(t, n.Reason)
		})
	}
}

func TestReasonForAResidual(t *testing.T) {
	underrace.Skip(t)
	s := ensemble(t)
	w := write(t, s, WriteOptions{Float: true})
	mix := mixOf(t, s, nil)
	half := 0.5 * s.PanGain
	smooth := 0.0
	silence := [][]float64{make([]float64, 1000), make([]float64, 1000)}
	for _, c := range []struct {
		name string
		mix  [][]float64
		kind string
		want []string
	}{
		{"a missing track", mixOf(t, s, map[string][2]float64{"bass.wav": {}}), KindTracks, []string{"bass.wav is missing from the mix"}},
		{"a missing side", mixOf(t, s, map[string][2]float64{"hat L.wav": {}}), KindTracks, []string{"hat L.wav is missing from the mix"}},
		{"a track set aside but in the mix", mixOf(t, s, map[string][2]float64{"click.wav": {0.5, 0.5}}), KindTracks, []string{"click.wav is in the mix (at -6.02 dB) but on no pair"}},
		{"a track that the sheet does not know", mixOf(t, s, map[string][2]float64{"strings.wav": {1, 1}}), KindTracks, []string{"strings.wav is in the mix (at +0.00 dB) but on no pair"}},
		{"two tracks at once", mixOf(t, s, map[string][2]float64{"bass.wav": {half, half}, "piano.wav": {-1, -1}}), KindTracks,
			[]string{"bass.wav is at -6.02 dB in the mix", "all of pair 2|piano.wav has inverted polarity"}},
		{"a track panned", mixOf(t, s, map[string][2]float64{"kick.wav": {1, 0}}), KindTracks, []string{"kick.wav is panned otherwise in the mix: +0.00 dB left, silence right"}},
		{"another pan law", mixOf(t, s, map[string][2]float64{"kick.wav": {0.5, 0.5}, "bass.wav": {0.5, 0.5}}), KindTracks, []string{"-6.02 dB on each side, the stems at -3.01 dB: another pan law"}},
		{"a gain and a missing track", each(mixOf(t, s, map[string][2]float64{"bass.wav": {}}), func(_, _ int, v float64) float64 { return v * 0.7 }), KindTracks,
			[]string{"everything is at -3.10 dB", "bass.wav is missing"}},
		{"a gain", each(mix, func(_, _ int, v float64) float64 { return v * 0.5 }), KindGain, []string{"-6.02 dB", "gain on the mix"}},
		{"a balance", each(mix, func(side, _ int, v float64) float64 { return v * float64(2-side) / 2 }), KindGain, []string{"+0.00 dB on the left and at -6.02 dB on the right"}},
		{"inverted polarity", each(mix, func(_, _ int, v float64) float64 { return -v }), KindPolarity, []string{"the mix has inverted polarity"}},
		{"one side inverted", each(mix, func(side, _ int, v float64) float64 { return v * float64(2*side-1) }), KindPolarity, []string{"left side of the mix has inverted polarity"}},
		{"sides exchanged", [][]float64{mix[1], mix[0]}, KindSides, []string{"left and right are exchanged"}},
		{"late", [][]float64{append(make([]float64, 333), mix[0]...), append(make([]float64, 333), mix[1]...)}, KindShift, []string{"333 samples (6.94 ms) late"}},
		{"early", [][]float64{mix[0][77:], mix[1][77:]}, KindShift, []string{"77 samples (1.60 ms) early"}},
		{"two seconds late", [][]float64{append(make([]float64, 96005), mix[0]...), append(make([]float64, 96005), mix[1]...)}, KindShift, []string{"96005 samples"}},
		{"late and a missing track", func() [][]float64 {
			m := mixOf(t, s, map[string][2]float64{"piano.wav": {}})
			return [][]float64{append(make([]float64, 333), m[0]...), append(make([]float64, 333), m[1]...)}
		}(), KindTracks, []string{"333 samples (6.94 ms) late", "missing from the mix"}},
		{"too short", [][]float64{mix[0][:4*rate], mix[1][:4*rate]}, KindLength, []string{"ends 0:00:02.000 before the stems"}},
		{"too long", [][]float64{append(mix[0][:len(mix[0]):len(mix[0])], 0.1), append(mix[1][:len(mix[1]):len(mix[1])], 0.1)}, KindLength, []string{"goes on for"}},
		{"a filter", each(mix, func(_, i int, v float64) float64 {
			if i == 0 {
				smooth = 0
			}
			smooth += 0.3 * (v - smooth)
			return smooth
		}), KindFilter, []string{"equaliser or filter", "16000 Hz"}},
		{"a compressor", each(mix, func(_, i int, v float64) float64 {
			if i == 0 {
				smooth = 0
			}
			smooth = max(math.Abs(v), smooth*0.9997)
			return v * math.Pow(max(smooth, 0.05)/0.05, -0.6)
		}), KindDynamics, []string{"compressor or limiter"}},
		{"another song", noise(99, 2, int(s.Frames), 0.2), KindOther, []string{"little to do with these tracks"}},
		{"silence", silence, KindOther, []string{"the mix is silent"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			n := compared(t, s, w, track{planes: c.mix, encoding: wavfile.Float32})
			require.False(t, n.Nulls)
			require.NotNil(t, n.Reason)
			assert.Equal(t, c.kind, n.Reason.Kind, n.Reason.Text)
			for _, want := range c.want {
				assert.Regexp(t, escape(want), n.Reason.Text)
			}
		})
	}
}

// escape makes a pattern of plain text in which | parts alternatives.
func escape(text string) string {
	var out []rune
	for _, r := range text {
		if r == '.' || r == '(' || r == ')' || r == '+' {
			out = append(out, '\\')
		}
		out = append(out, r)
	}
	return string(out)
}

func TestClippedMixIsRecognised(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: sine(200, 0.8, 2, rate), encoding: wavfile.PCM24}, track{file: "b.wav", planes: sine(203, 0.8, 2, rate), encoding: wavfile.PCM24})
	s := open(t, sheetOf(dir, []string{"a.wav"}, []string{"b.wav"}), Options{})
	n := against(t, s, WriteOptions{}, track{planes: mixOf(t, s, nil), encoding: wavfile.PCM24})
	require.NotNil(t, n.Reason)
	assert.Equal(t, KindClip, n.Reason.Kind, n.Reason.Text)
}

func TestMixesThatCannotBeCompared(t *testing.T) {
	s := ensemble(t)
	dir := t.TempDir()
	put(t, dir, track{file: "mono.wav", planes: noise(1, 1, 100, 0.1)}, track{file: "rate.wav", planes: noise(1, 2, 100, 0.1), rate: 44100})
	for file, want := range map[string]string{"mono.wav": "give a stereo mix", "rate.wav": "44100 Hz", "none.wav": "none.wav"} {
		assert.ErrorContains(t, s.CheckMix(filepath.Join(dir, file)), want)
		_, err := s.Against(t.Context(), write(t, s, WriteOptions{Float: true}), filepath.Join(dir, file), nil)
		assert.ErrorContains(t, err, want)
	}
}

// A late session and a mix with its own time reference are compared where their times agree.
func TestMixIsPlacedByItsTimeReference(t *testing.T) {
	dir := t.TempDir()
	const start = 172800000
	put(t, dir, track{file: "a.wav", planes: band(1, 2, 200, 0.5), encoding: wavfile.PCM24, ref: start})
	s := open(t, sheetOf(dir, []string{"a.wav"}), Options{})
	mix := mixOf(t, s, nil)
	before := [][]float64{append(make([]float64, 500), mix[0]...), append(make([]float64, 500), mix[1]...)}
	for _, c := range []struct {
		ref    int64
		planes [][]float64
		nulls  bool
	}{
		{start, mix, true}, {start - 500, before, true}, {start + 300, [][]float64{mix[0][300:], mix[1][300:]}, false}, {5, mix, true},
	} {
		n := against(t, s, WriteOptions{}, track{planes: c.planes, encoding: wavfile.PCM24, ref: c.ref})
		assert.Equal(t, c.nulls, n.Nulls)
		if !c.nulls {
			assert.Equal(t, KindLength, n.Reason.Kind)
			assert.Contains(t, n.Reason.Text, "begins 0:00:00.006 after the stems")
		}
	}
}
