package timbre

import (
	"encoding/csv"
	"flag"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/features/spectrum"
)

const (
	trainedFile = "testdata/trained.csv"
	rolesFile   = "../../plan/ears/role.csv"
)

var updateTrained = flag.Bool("update", false, "rewrite "+trainedFile+"; train the table of roles anew afterwards")

// trainedSignals are short sounds of all kinds the elements tell apart, all invented.
func trainedSignals() []struct {
	name   string
	rate   int
	planes [][]float32
} {
	const rate = 48000
	add := func(a, b []float32, gain float32) []float32 {
		out := slices.Clone(a)
		for i := range min(len(a), len(b)) {
			out[i] += gain * b[i]
		}
		return out
	}
	shape := func(x []float32, gain func(t float64) float64) []float32 {
		out := make([]float32, len(x))
		for i, v := range x {
			out[i] = v * float32(gain(float64(i)/rate))
		}
		return out
	}
	pluck := func(period, decay float64) func(float64) float64 {
		return func(t float64) float64 { return math.Exp(-math.Mod(t, period) / decay) }
	}
	vibrato := func(t float64) float64 { return 60 * math.Sin(2*math.Pi*5.5*t) }
	steps := func(t float64) float64 { return 300 * math.Floor(math.Mod(2*t, 4)) }
	hiss := hits(rate, 6, 0.01, 1e9, 2)
	bass := shape(tone(rate, 6, 55, 12, steps), pluck(0.5, 0.4))
	voice := shape(tone(rate, 6, 220, 20, vibrato), func(t float64) float64 { return 0.2 + 0.8*math.Abs(math.Sin(2*t)) })
	kick := shape(tone(rate, 6, 50, 2, func(t float64) float64 { return 1200 * math.Exp(-math.Mod(t, 0.5)/0.03) }), pluck(0.5, 0.1))
	sparse := make([]float32, 6*rate)
	copy(sparse[2*rate:], tone(rate, 1, 330, 12, flat))
	return []struct {
		name   string
		rate   int
		planes [][]float32
	}{
		{"kick", rate, [][]float32{add(kick, hiss, 1e-3)}},
		{"bass", rate, [][]float32{bass}},
		{"voice", rate, [][]float32{add(voice, hiss, 0.01)}},
		{"hat", rate, [][]float32{hits(rate, 6, 8, 0.02, 3)}},
		{"noise", rate, [][]float32{hiss}},
		{"sparse", rate, [][]float32{sparse}},
		{"wide chord", rate, [][]float32{add(bass, voice, 0.3), add(voice, hits(rate, 6, 4, 0.1, 4), 0.5)}},
		{"44.1 kHz", 44100, [][]float32{voice}},
		{"96 kHz", 96000, [][]float32{add(bass, voice, 0.5)}},
	}
}

// The table of roles was trained on vectors as this meter reads them. However its inner loops change, the readings must
// stay within a thousandth of each element's spread in that table: the stored figures are those of the meter at the time
// of training, not a standard's.
func TestVectorStaysTheTrainedOne(t *testing.T) {
	header := []string{"element"}
	var vectors [][]float32
	for _, s := range trainedSignals() {
		m := New(s.rate, len(s.planes))
		stream := spectrum.NewStream(s.rate, len(s.planes), m)
		for at := 0; at < len(s.planes[0]); at += 4096 {
			block := make([][]float32, len(s.planes))
			for c, plane := range s.planes {
				block[c] = plane[at:min(at+4096, len(plane))]
			}
			m.Write(block)
			stream.Write(block)
		}
		stream.Close()
		header = append(header, s.name)
		vectors = append(vectors, m.Vector())
	}
	if *updateTrained {
		rows := [][]string{header}
		for i, name := range Names {
			row := []string{name}
			for _, v := range vectors {
				row = append(row, strconv.FormatFloat(float64(v[i]), 'g', -1, 32))
			}
			rows = append(rows, row)
		}
		writeRows(t, trainedFile, rows)
	}
	spreads := map[string]float64{}
	for _, row := range readRows(t, rolesFile)[2:] {
		spreads[row[0]] = number(t, row[2])
	}
	rows := readRows(t, trainedFile)
	require.Equal(t, header, rows[0])
	require.Len(t, rows, Size+1)
	for i, row := range rows[1:] {
		require.Equal(t, Names[i], row[0])
		spread, ok := spreads[row[0]]
		if !ok { // not in the table
			spread = 1
		}
		for s, text := range row[1:] {
			if d := math.Abs(number(t, text) - float64(vectors[s][i])); d > 1e-3*spread {
				t.Errorf("%s, %s: %s when trained, %g now; spread %g", header[s+1], row[0], text, vectors[s][i], spread)
			}
		}
	}
}

func readRows(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows
}

func writeRows(t *testing.T, path string, rows [][]string) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, csv.NewWriter(f).WriteAll(rows))
	require.NoError(t, f.Close())
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}
