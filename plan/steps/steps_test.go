package steps

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/features/wavfile"
	"foldout/plan/glossary"
	"foldout/plan/levels"
	"foldout/plan/linecheck/trace"
	"foldout/plan/rig"
	"foldout/plan/sheet"
	"foldout/testdata/pages"
)

const rate = 48000

// tone is a sine of 1 kHz with its peak in dBFS: n seconds, silence before it.
func tone(dbfs, before, seconds float64) []float64 {
	out := make([]float64, int((before+seconds)*rate))
	for i := int(before * rate); i < len(out); i++ {
		out[i] = math.Pow(10, dbfs/20) * math.Sin(2*math.Pi*1000*float64(i)/rate)
	}
	return out
}

// song writes one stereo track for each pair, a steady tone of the level given, and makes a sheet of them.
func song(t *testing.T, dbfs ...float64) *sheet.Sheet {
	t.Helper()
	dir := t.TempDir()
	s := &sheet.Sheet{Schema: sheet.SchemaVersion, Title: "Invented song", Folder: dir}
	for n, level := range dbfs {
		file := fmt.Sprintf("t%d.wav", n+1)
		x := tone(level, 0.5, 10)
		w, err := wavfile.Create(filepath.Join(dir, file), wavfile.Format{SampleRateHz: rate, Channels: 2, Encoding: wavfile.Float32}, false)
		require.NoError(t, err)
		require.NoError(t, w.WriteFloat64([][]float64{x, x}))
		require.NoError(t, w.Close())
		s.Pairs = append(s.Pairs, sheet.Pair{Name: fmt.Sprintf("Choir %d", n+1), Outputs: [2]int{2*n + 1, 2*n + 2}, Buses: []string{fmt.Sprintf("Bus %d", n+1)},
			Tracks: []sheet.Placement{{File: file, Bus: fmt.Sprintf("Bus %d", n+1)}}})
	}
	return s
}

// one is a single interface with the speakers on its last pair.
func one(pairs int) *rig.Rig {
	r := rig.Plain(pairs + 1)
	r.Interfaces[0].Inputs = 8
	r.Interfaces[0].MonitorPair = [2]int{2*pairs + 1, 2*pairs + 2}
	r.Return.Inputs = [2]int{3, 4}
	return r
}

// several has two interfaces, the second 4 dB softer at full scale; the speakers hang on the second.
func several() *rig.Rig {
	r := one(1)
	r.Alignment = rig.Alignment{DBFS: -20, DBu: 4}
	r.Interfaces = []rig.Interface{
		{Name: "Redwing", LineOutputs: 2, Inputs: 2, Connector: rig.XLR, InputConnector: rig.XLR, FullScaleDBu: 24},
		{Name: "Brambling", LineOutputs: 4, Inputs: 8, Connector: rig.TRS, InputConnector: rig.TRS, FullScaleDBu: 20, MonitorPair: [2]int{1, 2}},
	}
	r.Summing = rig.Summing{Name: "Quernstone", Inputs: 4, Connector: rig.XLR, OutputConnector: rig.XLR, MaxInputDBu: 26, OperatingDBu: 4, MonoSwitches: []int{3}}
	r.Return = rig.Return{Interface: "Brambling", Inputs: [2]int{7, 8}, PrintTrack: "Take"}
	return r
}

// whole makes the list with the tracks measured.
func whole(t *testing.T, s *sheet.Sheet, r *rig.Rig, base *trace.Result) *List {
	t.Helper()
	l, err := levels.Measure(t.Context(), s, r, levels.Options{})
	require.NoError(t, err)
	e, err := FindEnds(t.Context(), s, l, r.PanGain(), levels.Options{})
	require.NoError(t, err)
	list, err := Make(Options{Sheet: s, Rig: r, Levels: l, Ends: e, Baseline: base, SheetFile: "my song.json", RigFile: "rig.toml"})
	require.NoError(t, err)
	return list
}

// all is every word of a step.
func (s Step) all() string {
	text := []string{s.Title, s.Why}
	text = append(text, s.Cautions...)
	for _, d := range s.Do {
		text = append(append(text, d.Text), d.More...)
	}
	for _, q := range s.Asked {
		text = append(text, q.Question, q.Answer)
	}
	return strings.Join(text, "\n")
}

func step(t *testing.T, l *List, name string) string {
	t.Helper()
	i := slices.IndexFunc(l.Steps, func(s Step) bool { return s.Name == name })
	require.GreaterOrEqual(t, i, 0, name)
	return l.Steps[i].all()
}

// Every step of the way of working is there, in its order, and says what belongs to it (common practice, no source).
func TestNoStepIsMissing(t *testing.T) {
	l := whole(t, song(t, -12, -20), one(2), nil)
	wants := []struct {
		name  string
		words []string
	}{
		{"safe", []string{"Speakers off", "outputs 5/6", "Phantom power off on inputs 3/4", "maker's manual", "lethal"}},
		{"plug", []string{"outputs 1/2 to Summing unit inputs 1/2", "outputs 3/4 to Summing unit inputs 3/4", "inputs 3/4", "foldout patch \"my song.json\" --rig rig.toml"}},
		{"outputs", []string{`"P1 Choir 1": output 1 left, output 2 right`, `"P2 Choir 2": output 3 left`, `"Speakers" on outputs 5/6`}},
		{"route", []string{"Bus 1: t1", "none to the main output", "Nothing may sound"}},
		{"return", []string{`"Return" on inputs 3/4`, "howls"}},
		{"master", []string{"onto \"Return\"", "must not move"}},
		{"print track", []string{"Print", "Armed", "speakers only, never to a pair"}},
		{"mute", []string{"\"Return\" is muted", "direct monitoring", "Click", "1/(2t)"}},
		{"in time", []string{"delay compensation on", "early"}},
		{"line check", []string{"foldout tones --sheet \"my song.json\" --rig rig.toml", "--level -20", "01-02.wav to outputs 1/2", "03-04.wav to outputs 3/4", "foldout trace"}},
		{"trims", []string{"-6.0 dB", "0 VU"}},
		{"mix", []string{"85 dBA"}},
		{"record", []string{"real time", "0:18", "0:10.5"}},
		{"check print", []string{"0:11 at least", "full scale", "Silence before", "left is left"}},
		{"compare", []string{"foldout compare mix.wav print.wav", "foldout listen ab", "by the gain that compare names"}},
		{"export", []string{"48 kHz", "--note", "recall sheet"}},
	}
	require.Len(t, l.Steps, len(wants))
	for n, w := range wants {
		s := l.Steps[n]
		assert.Equal(t, w.name, s.Name)
		assert.Equal(t, n+1, s.Number)
		assert.NotEmpty(t, s.Why)
		assert.NotEmpty(t, s.Do)
		for _, word := range w.words {
			assert.Contains(t, strings.ToLower(s.all()), strings.ToLower(word), w.name)
		}
	}
	for _, word := range []string{"pair", "bus", "return", "print", "trim", "operating level", "comb filter", "latency", "line check", "tail", "recall sheet"} {
		assert.True(t, slices.ContainsFunc(l.Words, func(term glossary.Term) bool { return term.Word == word }), word)
	}
}

func near(t *testing.T, want float64, got features.DB, what string) {
	t.Helper()
	assert.InDelta(t, want, float64(got), 0.05, what)
}

// Levels by plain arithmetic. -18 dBFS = 0 VU: tones of -12 and -20 dBFS read +6 and -2 VU. The hotter one sets the trim of
// both, -6 dB. Both tones are in phase: their amplitudes add up.
func TestMetersOfOneInterface(t *testing.T) {
	l := whole(t, song(t, -12, -20), one(2), nil)
	a, b := l.Pairs[0].Meter, l.Pairs[1].Meter
	near(t, 6, a.AsExported.VULoud, "as exported")
	near(t, -2, b.AsExported.VULoud, "as exported")
	near(t, -12, a.AsExported.DBFSLoud, "a sine reads its peak")
	assert.InDelta(t, -6, a.BalanceDB, 0.05)
	assert.Equal(t, a.BalanceDB, b.BalanceDB)
	near(t, 0, a.Balanced.VULoud, "with the trim")
	near(t, -8, b.Balanced.VULoud, "with the trim")
	near(t, -26, b.Balanced.TruePeakDBTP, "with the trim")
	assert.InDelta(t, 2, b.OwnDB, 0.05)
	sum := 20 * math.Log10(math.Pow(10, -12.0/20)+math.Pow(10, -20.0/20))
	near(t, sum-6, l.Return.Reading.TruePeakDBTP, "return")
	near(t, sum-6+18, l.Return.Reading.VULoud, "return")
	near(t, -1-(sum-6), l.Return.SpareDB, "to -1 dBTP")
	assert.Equal(t, 1, l.Return.LimitedBy)
}

// Two interfaces: the same figure leaves the second 4 dB softer. -12 dBFS leaves the first at +12 dBu, 8 dB over the
// operating level of +4 dBu, the second at +8 dBu. The trims that keep the balance are -8 and -4 dB; both then arrive
// at +4 dBu, 0 VU, and return to the second interface at 4 - 20 = -16 dBFS each, 6.02 dB more together.
func TestMetersOfTwoInterfaces(t *testing.T) {
	l := whole(t, song(t, -12, -12), several(), nil)
	a, b := l.Pairs[0].Meter, l.Pairs[1].Meter
	assert.Equal(t, "Redwing", l.Pairs[0].Interface)
	assert.Equal(t, "Brambling", l.Pairs[1].Interface)
	assert.Equal(t, [2]int{3, 4}, l.Pairs[1].Outputs)
	assert.InDelta(t, -8, a.BalanceDB, 0.05)
	assert.InDelta(t, -4, b.BalanceDB, 0.05)
	near(t, 0, a.Balanced.VULoud, "first")
	near(t, 0, b.Balanced.VULoud, "second")
	near(t, -20, a.Balanced.DBFSLoud, "first")
	near(t, -16, b.Balanced.DBFSLoud, "second")
	near(t, -16+6.02, l.Return.Reading.TruePeakDBTP, "return")
	near(t, 6.02, l.Return.Reading.VULoud, "return")
	assert.Contains(t, step(t, l, "trims"), "P1 Choir 1, Redwing 1/2: -8.0 dB")
	assert.Contains(t, step(t, l, "in time"), "Redwing and Brambling run from one clock")
	assert.Contains(t, step(t, l, "line check"), "05-06.wav to outputs 3/4 of Brambling")
	assert.Contains(t, step(t, l, "outputs"), "output 3 left, output 4 right of Brambling")
	assert.Contains(t, step(t, l, "print track"), `"Take"`)
	assert.Contains(t, step(t, l, "plug"), "left: XLR 1 to XLR 1; right: XLR 2 to XLR 2")
}

// Sixteen pairs fit 32 outputs and no fewer. Without the tracks there are no levels, and that is said.
func TestSixteenPairs(t *testing.T) {
	s := &sheet.Sheet{Schema: sheet.SchemaVersion, Title: "Many"}
	for n := range 16 {
		s.Pairs = append(s.Pairs, sheet.Pair{Name: fmt.Sprintf("Part %d", n+1), Outputs: [2]int{2*n + 1, 2*n + 2},
			Tracks: []sheet.Placement{{File: fmt.Sprintf("x/%d.wav", n), Bus: "Bus"}}})
	}
	l, err := Make(Options{Sheet: s, Rig: one(16)})
	require.NoError(t, err)
	require.Len(t, l.Pairs, 16)
	assert.Contains(t, step(t, l, "outputs"), `"P16 Part 16": output 31 left, output 32 right`)
	assert.Contains(t, step(t, l, "trims"), "foldout levels SHEET --rig RIG")
	assert.Nil(t, l.Print)
	assert.Len(t, table(t, l, "Pairs").Rows, 32)
	_, err = Make(Options{Sheet: s, Rig: one(3)})
	var faults rig.Faults
	require.ErrorAs(t, err, &faults)
	assert.ErrorContains(t, err, "16 pairs with tracks")
	assert.ErrorContains(t, err, "only 3 free")
	r := one(16)
	r.Return = rig.Return{}
	l, err = Make(Options{Sheet: s, Rig: r})
	require.NoError(t, err)
	assert.Contains(t, step(t, l, "plug"), "The rig does not say which")
	_, err = Make(Options{Sheet: &sheet.Sheet{}})
	assert.Error(t, err)
}

func table(t *testing.T, l *List, title string) Table {
	t.Helper()
	for _, tab := range l.Recall.Tables {
		if strings.HasPrefix(tab.Title, title) {
			return tab
		}
	}
	require.Fail(t, title)
	return Table{}
}

func baseline() *trace.Result {
	yes, no := true, false
	return &trace.Result{
		Return: "return.wav", SampleRateHz: rate, LatencySamples: 480, GainDB: 0.1, NoiseADBFS: -90, DriftPPM: 0.25,
		Channels: []trace.Channel{
			{Output: 1, Label: "Output 1", Alive: &yes, GainDB: -0.25, THDPercent: 0.02},
			{Output: 2, Label: "Output 2", Alive: &no, GainDB: features.DB(math.NaN()), DelaySamples: features.DB(math.NaN())},
			{Output: 5, Label: "Output 5", Alive: &yes, GainDB: 0.5, DelaySamples: 12.25, THDPercent: 0.03, Polarity: "inverted"},
		},
		Verdicts: []trace.Verdict{{Severity: trace.Fault}, {Severity: trace.Warning}, {Severity: trace.OK}},
	}
}

// What a line check measured stands at its own output; a second interface counts on: output 3 of the second is 5.
func TestTheRecallSheetHoldsWhatWasMeasured(t *testing.T) {
	s := song(t, -12, -12)
	s.Notes = []sheet.Note{{Date: "2026-01-02", Text: "drive at 3"}}
	l := whole(t, s, several(), baseline())
	rows := table(t, l, "Pairs").Rows
	require.Len(t, rows, 4)
	last := len(rows[0]) - 1
	assert.Equal(t, "-0.25 dB, 0.00 samples, THD 0.020 %", rows[0][last])
	assert.Equal(t, "dead", rows[1][last])
	assert.Equal(t, "P2 L Brambling 3 > 3", rows[2][0])
	assert.Equal(t, "+0.50 dB, 12.25 samples, THD 0.030 %, inverted", rows[2][last])
	assert.Equal(t, "not checked", rows[3][last])
	assert.Equal(t, []string{"-8.0 dB", "", "", ""}, rows[0][1:5], "blanks to fill in")
	assert.Equal(t, []string{"-", ""}, []string{rows[1][5], rows[2][5]}, "a mono switch where there is one")
	assert.Equal(t, s.Notes, l.Recall.Notes)
	assert.Contains(t, step(t, l, "in time"), "12.25 samples")
	assert.Contains(t, step(t, l, "in time"), "480 samples, 10.0 ms")
	assert.Contains(t, step(t, l, "line check"), "1 fault and 1 warning")
	assert.InDelta(t, 10, float64(l.Print.LatencyMS), 1e-9)
	for _, title := range []string{"Session", "Controls of Quernstone", "Interfaces", "Return", "Last line check"} {
		assert.NotEmpty(t, table(t, l, title).Rows)
	}
	_, err := json.Marshal(l)
	require.NoError(t, err)
}

// The first and the last sample within 60 dB of the highest, by the definition: half a second of silence, then tone; the
// tail of the second session falls by 0.02 dB a sample, 60 dB in 3000 samples, then on to nothing.
func TestWhereTheSoundBeginsAndEnds(t *testing.T) {
	l := whole(t, song(t, -12), one(1), nil)
	assert.InDelta(t, 0.5, l.Print.FirstS, 0.001)
	assert.InDelta(t, 10.5, l.Print.LastS, 0.001)
	near(t, 0, l.Print.CutDB, "the tone is cut off")
	assert.Contains(t, step(t, l, "record"), "tail is cut off")
	assert.InDelta(t, 18, l.Print.RecordS, 1e-9, "2 s, 10.5 s and 5 s, whole seconds")

	s := song(t, -12)
	x := tone(-12, 0.5, 4)
	for i := range rate {
		x = append(x, math.Pow(10, (-12-0.02*float64(i))/20)*float64(1-2*(i%2)))
	}
	w, err := wavfile.Create(filepath.Join(s.Folder, "t1.wav"), wavfile.Format{SampleRateHz: rate, Channels: 2, Encoding: wavfile.Float32}, true)
	require.NoError(t, err)
	require.NoError(t, w.WriteFloat64([][]float64{x, x}))
	require.NoError(t, w.Close())
	l = whole(t, s, one(1), nil)
	assert.InDelta(t, 4.5+3000.0/rate, l.Print.LastS, 0.0001)
	assert.NotContains(t, step(t, l, "record"), "cut off")
}

func TestThePageHoldsAllAndLooksRight(t *testing.T) {
	s := song(t, -12, -12)
	s.Title, s.Pairs[0].Name = `<script>alert(1)</script>`, `Drums & "Bass" <b>`
	s.Pairs[1].Name = strings.Repeat("long name ", 8)
	s.Notes = []sheet.Note{{Date: "2026-01-02", Text: "drive at <3>"}}
	l := whole(t, s, several(), baseline())
	var b bytes.Buffer
	require.NoError(t, l.WritePage(&b))
	html := b.String()
	boxes := 0
	for _, s := range l.Steps {
		boxes += len(s.Do)
	}
	assert.Equal(t, boxes, strings.Count(html, `<input type="checkbox">`), "a box for everything to do")
	assert.NotContains(t, html, "<script")
	assert.Contains(t, html, "drive at &lt;3&gt;")
	assert.Contains(t, html, "measured last")
	p := pages.Open(t, b.Bytes())
	p.Sound(t)
	a4, letter := p.Papers(t)
	assert.LessOrEqual(t, a4, 9)
	assert.LessOrEqual(t, letter, 9)
}
