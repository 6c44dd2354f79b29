package levels

import (
	"context"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/rig"
	"foldout/plan/sheet"
)

func near(t *testing.T, want float64, got any, within float64, what string) {
	t.Helper()
	assert.InDelta(t, want, number(got), within, what)
}

func number(v any) float64 {
	switch v := v.(type) {
	case float64:
		return v
	case interface{ MarshalJSON() ([]byte, error) }:
		text, _ := v.MarshalJSON()
		var f float64
		if json.Unmarshal(text, &f) == nil && string(text) != "null" {
			return f
		}
	}
	return math.NaN()
}

// A steady sine at the alignment level reads 0 VU and leaves the interface at the alignment's dBu: EBU R 68-2000 puts it
// 18 dB below full scale, in common practice at 0 dBu, so that full scale is +18 dBu; SMPTE RP 155:2004 20 dB below, in
// practice at +4 dBu, full scale +24 dBu; -18 dBFS = +4 dBu, full scale +22 dBu, is practice without a standard.
// A sine's rms in dBu equals its peak level by definition (a level in dBu is that of a sine). The VU meter may overshoot a
// step by 1 to 1.5 % (IEC 60268-17:1990), 0.086 to 0.129 dB.
func TestAlignmentToneReadsZeroVU(t *testing.T) {
	for _, c := range []struct {
		name            string
		dbfs, dbu, full float64
	}{
		{"EBU R 68", -18, 0, 18},
		{"SMPTE RP 155", -20, 4, 24},
		{"-18 dBFS = +4 dBu", -18, 4, 22},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			x := tone(1000, c.dbfs, 12) // so long that the first overshoot is none of the loud passages
			put(t, dir, "tone.wav", x, x)
			l := measure(t, sheetOf(dir, []string{"tone.wav"}), aligned(1, c.dbfs, c.dbu))
			p := l.Pairs[0]
			near(t, c.full, p.FullScaleDBu, 0, "full scale")
			near(t, 0, p.VULoud, 0.02, "VU of a steady tone")
			near(t, 0.107, p.VUMax, 0.022, "the needle's overshoot of 1 to 1.5 %")
			near(t, c.dbu+0.107, p.Input.VUMaxDBu, 0.022, "VU in dBu")
			near(t, c.dbu, p.Input.RMSDBu, 0.001, "rms")
			near(t, c.dbu, p.Input.PeakDBu, 0.02, "peak")
			near(t, c.dbfs-3.0103, p.RMSDBFS, 0.001, "plain rms")
			near(t, -c.dbfs, p.HeadroomConverterDB, 0.02, "converter")
			near(t, 24-c.dbu, p.HeadroomUnitDB, 0.02, "unit: +24 dBu at most")
			near(t, 0, p.Trim.GainDB, 0.02, "trim")
			assert.Equal(t, "operating level", p.Trim.Limit)
		})
	}
}

// sqrt(0.6) V = 0.774597 V is 0 dBu, 1 V is 0 dBV = +2.2185 dBu, -10 dBV lies 11.7815 dB below +4 dBu (IEC 60027-3).
func TestUnitAtMinusTenDBVWantsLess(t *testing.T) {
	dir := t.TempDir()
	x := tone(1000, -18, 12)
	put(t, dir, "tone.wav", x, x)
	r := rig.Plain(1)
	r.Summing.OperatingDBu = 20 * math.Log10(math.Pow(10, -0.5)/math.Sqrt(0.6))
	l := measure(t, sheetOf(dir, []string{"tone.wav"}), r)
	near(t, -11.7815, l.Pairs[0].Trim.GainDB, 0.02, "trim to -10 dBV")
	assert.Contains(t, l.Notes[len(l.Notes)-1], "trims aim at the latter")
}

// IEC 60268-17:1990: 99 % of the final reading after 300 ms, 20 log10(0.99) = -0.087 dB; from the second-order model with
// 1.25 % overshoot, 100 and 200 ms of tone reach 43.51 and 84.53 %, -7.229 and -1.460 dB, before the needle swings on.
func TestVUBallisticsOfAPair(t *testing.T) {
	for _, c := range []struct {
		ms      float64
		atLeast float64
	}{{100, -7.229}, {200, -1.460}, {300, -0.087}} {
		dir := t.TempDir()
		x := append(tone(1000, -18, c.ms/1000), make([]float64, rate)...)
		put(t, dir, "tone.wav", x, x)
		p := measure(t, sheetOf(dir, []string{"tone.wav"}), nil).Pairs[0]
		assert.GreaterOrEqual(t, float64(p.VUMax), c.atLeast-0.02)
		assert.LessOrEqual(t, float64(p.VUMax), min(c.atLeast+3.5, 0.11), "the needle coasts a little after the tone")
	}
}

// Equal sides: correlation 1, nothing lost in mono; unrelated sides of equal level: 0 and 3.01 dB; opposite sides: -1 and
// everything; one side only: half the power, 3.01 dB (all by the definition).
func TestCorrelationAndMonoLoss(t *testing.T) {
	a, b := noise(1, 0.1, 5), noise(2, 0.1, 5)
	for _, c := range []struct {
		name        string
		l, r        []float64
		correlation float64
		loss        float64
	}{
		{"equal", a, a, 1, 0},
		{"unrelated", a, b, 0, 3.0103},
		{"opposite", a, times(a, -1), -1, math.NaN()},
		{"one side", a, make([]float64, len(a)), 0, 3.0103},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			put(t, dir, "x.wav", c.l, c.r)
			p := measure(t, sheetOf(dir, []string{"x.wav"}), nil).Pairs[0]
			near(t, c.correlation, p.Correlation, 0.01, "correlation")
			if math.IsNaN(c.loss) {
				assert.True(t, math.IsInf(float64(p.MonoLossDB), 1))
			} else {
				near(t, c.loss, p.MonoLossDB, 0.05, "loss")
			}
		})
	}
}

// Two equal pairs add up to 6.02 dB more, two unrelated ones to 3.01 dB (power sum), opposite ones to nothing.
func TestTotalOfAllPairs(t *testing.T) {
	a, b := noise(1, 0.1, 5), noise(2, 0.1, 5)
	for _, c := range []struct {
		name string
		x    []float64
		more float64
	}{{"equal", a, 6.0206}, {"unrelated", b, 3.0103}, {"opposite", times(a, -1), math.NaN()}} {
		dir := t.TempDir()
		put(t, dir, "a.wav", a, a)
		put(t, dir, "b.wav", c.x, c.x)
		l := measure(t, sheetOf(dir, []string{"a.wav"}, []string{"b.wav"}), nil)
		if math.IsNaN(c.more) {
			assert.True(t, math.IsInf(float64(l.Total.TruePeakDBTP), -1), c.name)
			assert.True(t, math.IsInf(float64(l.Total.IntegratedLUFS), -1), c.name)
			continue
		}
		near(t, float64(l.Pairs[0].IntegratedLUFS)+c.more, l.Total.IntegratedLUFS, 0.05, c.name)
		near(t, float64(l.Pairs[0].RMSDBFS)+c.more, l.Total.RMSDBFS, 0.05, c.name)
	}
}

// Pan laws: a mono track in the centre reaches each side 3.01, 4.52, 6.02 or 0 dB lower.
func TestPanLawOfTheRig(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "mono.wav", tone(1000, -10, 2))
	for law, gain := range map[string]float64{"-3 dB": -3.0103, "-4.5 dB": -4.5154, "-6 dB": -6.0206, "0 dB": 0} {
		r := rig.Plain(1)
		r.Pan = law
		near(t, -10+gain, measure(t, sheetOf(dir, []string{"mono.wav"}), r).Pairs[0].SamplePeakDBFS, 0.001, law)
	}
}

// Gain shifts every level by itself and leaves trim plus gain, correlation and mono loss as they are.
func TestGainShiftsLevelsOnly(t *testing.T) {
	l, r := noise(1, 0.2, 6), noise(2, 0.1, 6)
	dir := t.TempDir()
	put(t, dir, "a.wav", l, r)
	put(t, dir, "b.wav", times(l, 0.5), times(r, 0.5))
	a, b := measure(t, sheetOf(dir, []string{"a.wav"}), nil).Pairs[0], measure(t, sheetOf(dir, []string{"b.wav"}), nil).Pairs[0]
	const down = -6.0206
	for what, v := range map[string][2]any{
		"true peak": {a.TruePeakDBTP, b.TruePeakDBTP}, "loudness": {a.IntegratedLUFS, b.IntegratedLUFS}, "rms": {a.RMSDBFS, b.RMSDBFS},
		"VU": {a.VUMax, b.VUMax}, "loud": {a.VULoud, b.VULoud}, "peak dBu": {a.Input.PeakDBu, b.Input.PeakDBu},
	} {
		near(t, number(v[0])+down, v[1], 0.021, what)
	}
	near(t, a.Trim.GainDB-down, b.Trim.GainDB, 0.021, "trim")
	near(t, number(a.HeadroomUnitDB)-down, b.HeadroomUnitDB, 0.001, "headroom")
	near(t, a.Correlation, b.Correlation, 1e-9, "correlation")
	near(t, number(a.MonoLossDB), b.MonoLossDB, 1e-9, "loss")
}

func TestTrimRule(t *testing.T) {
	unit := rig.Summing{MaxInputDBu: 24, OperatingDBu: 4}
	for _, c := range []struct {
		name                  string
		loud, peak, full, max float64
		gain, wants           float64
		limit                 string
	}{
		{"up to the operating level", -2, -15, 22, 24, 6, 6, "operating level"},
		{"down to it", 10, -5, 22, 24, -6, -6, "operating level"},
		{"the true peak stops at -1 dBTP (EBU R 128)", -6, -6, 22, 24, 5, 10, "true peak"},
		{"the unit stops before the converter", -6, -6, 22, 18, 2, 10, "unit input"},
		{"a hot converter into the same unit", -6, -6, 28, 24, 2, 10, "unit input"},
	} {
		unit.MaxInputDBu = c.max
		got := trim(c.loud, c.peak, c.full, unit)
		near(t, c.gain, got.GainDB, 1e-12, c.name)
		near(t, c.wants, got.WantsDB, 1e-12, c.name)
		assert.Equal(t, c.limit, got.Limit, c.name)
	}
	assert.Equal(t, "silent", trim(math.Inf(-1), math.Inf(-1), 22, unit).Limit)
}

// Loud passages count, not how much of the song they are, nor a single hit.
func TestTrimFollowsLoudPassages(t *testing.T) {
	quiet, loud := tone(1000, -30, 8), tone(1000, -18, 3)
	hit := tone(1000, -6, 0.02)
	dir := t.TempDir()
	song := append(append(append(append([]float64{}, quiet...), loud...), quiet...), hit...)
	put(t, dir, "song.wav", song, song)
	p := measure(t, sheetOf(dir, []string{"song.wav"}), nil).Pairs[0]
	near(t, 0, p.Trim.GainDB, 0.15, "the loud passage is at 0 VU")
}

func TestCommonTrimIsThatOfTheHottestPair(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.wav", tone(1000, -30, 3))
	put(t, dir, "b.wav", tone(1000, -10, 12))
	put(t, dir, "c.wav", make([]float64, rate))
	l := measure(t, sheetOf(dir, []string{"a.wav"}, []string{"b.wav"}, []string{"c.wav"}), nil)
	assert.Equal(t, 2, l.Common.Pair)
	near(t, -18+10+3.0103, l.Common.GainDB, 0.03, "to -18 dBFS on each side")
	assert.Equal(t, "silent", l.Pairs[2].Trim.Limit)
	assert.Contains(t, l.Notes, "pair 3 (C) is silent")
}

func TestSilenceIsWrittenAsNull(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.wav", make([]float64, rate))
	l := measure(t, sheetOf(dir, []string{"a.wav"}), nil)
	text, err := json.Marshal(l)
	require.NoError(t, err)
	var doc struct {
		Pairs []map[string]any `json:"pairs"`
	}
	require.NoError(t, json.Unmarshal(text, &doc))
	for _, key := range []string{"true_peak_dbtp", "integrated_lufs", "rms_dbfs", "vu_max", "headroom_converter_db"} {
		v, ok := doc.Pairs[0][key]
		assert.True(t, ok, key)
		assert.Nil(t, v, key)
	}
}

func TestWhatStandsInTheWay(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.wav", tone(1000, -18, 1))
	_, err := Measure(t.Context(), nil, nil, Options{})
	assert.Error(t, err)
	_, err = Measure(t.Context(), sheetOf(dir, []string{"a.wav"}, []string{"b.wav"}), nil, Options{})
	assert.ErrorContains(t, err, "missing from")
	_, err = Measure(t.Context(), sheetOf(dir, []string{"a.wav"}, []string{"b.wav"}), rig.Plain(1), Options{})
	assert.ErrorContains(t, err, "only 1 free")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = Measure(ctx, sheetOf(dir, []string{"a.wav"}), nil, Options{})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestPageCarriesCautionsAndAssumptions(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.wav", tone(1000, -18, 1))
	s := sheetOf(dir, []string{"a.wav"}, nil)
	s.SetAside = []sheet.SetAside{{File: "silent.wav"}}
	l := measure(t, s, nil)
	assert.NotEmpty(t, l.Cautions)
	joined := ""
	for _, n := range l.Notes {
		joined += n + "\n"
	}
	for _, want := range []string{"no rig was given", "-18 dBFS = 0 VU = +4 dBu", "pair 2 (B) is free", "set aside, on no pair and in no sum: silent.wav"} {
		assert.Contains(t, joined, want)
	}
	require.Len(t, l.Pairs, 1)
}
