package printcheck

import (
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/testdata/underrace"
)

// What is odd about a print is said in one note, and what to do about it.
func TestOddPrintsAreSaid(t *testing.T) {
	underrace.Skip(t)
	dir := t.TempDir()
	m := cut(0, 6*testRate)(strokes(0.3))
	mix := save(t, filepath.Join(dir, "mix.wav"), testRate, m)
	loud := gain(20)(m)
	other := cut(0, 3*testRate)(m)
	for _, c := range []struct {
		name, said, todo string
		format           wavfile.Encoding
		planes           [][]float64
	}{
		{"mono", "the print is mono", "record both sides of the return", wavfile.PCM24, [][]float64{m[0]}},
		{"clipped", "the print is clipped", "turn the return down and record again", wavfile.PCM24, [][]float64{loud[0], loud[1]}},
		{"louder than full scale", "the print goes beyond full scale", "turn the return down and record again", wavfile.Float32, [][]float64{loud[0], loud[1]}},
		{"swapped", "left and right are swapped", "check the two return cables", wavfile.PCM24, [][]float64{m[1], m[0]}},
		{"shorter than the mix", "the print holds 50 % of the mix", "record from before the first sound to after the last tail", wavfile.PCM24, [][]float64{other[0], other[1]}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Compare(t.Context(), mix, savePlanes(t, filepath.Join(t.TempDir(), "print.wav"), testRate, c.format, c.planes), Options{})
			require.NoError(t, err)
			var said []string
			for _, n := range r.Notes {
				if strings.Contains(n, c.said) {
					said = append(said, n)
				}
			}
			require.Len(t, said, 1, "%q", r.Notes)
			assert.Contains(t, said[0], c.todo)
		})
	}
}

// A song that repeats to the sample and keeps a note on the frequency of the mains is no hum, whatever the chain makes of the
// note; hum on the other mains frequency is found beside it. Levels: invented.
func TestANoteOnTheMainsIsNoHum(t *testing.T) {
	underrace.Skip(t)
	m := strokes(0.3)
	for c := range m {
		for i := range m[c] {
			m[c][i] = m[c][i%(2*testRate)] + 0.2*math.Sin(2*math.Pi*50*float64(i)/testRate)
		}
	}
	dir := t.TempDir()
	mix := save(t, filepath.Join(dir, "mix.wav"), testRate, m)
	bent := curved(func(v float64) float64 { return v + 0.1*v*v - 0.2*v*v*v })(m)
	r, err := Compare(t.Context(), mix, save(t, filepath.Join(dir, "bent.wav"), testRate, bent), Options{})
	require.NoError(t, err)
	assert.Nil(t, r.Hum)
	r, err = Compare(t.Context(), mix, save(t, filepath.Join(dir, "hum.wav"), testRate, mains(60, -50)(bent)), Options{})
	require.NoError(t, err)
	require.NotNil(t, r.Hum)
	assert.Equal(t, 60.0, r.Hum.Hz)
	assert.InDelta(t, -50, r.Hum.DBFS, 0.5)
}

// Bright strokes of two samples, read at another speed by another program: what neither can read between the samples at the
// very end of the band is no click. Source of the print: sox, speed and rate -v.
func TestAnotherSpeedMakesNoClicks(t *testing.T) {
	underrace.Skip(t)
	sox, err := exec.LookPath("sox")
	needs(t, err, "sox")
	m := strokes(0.3)
	for _, at := range []float64{3.21, 6.5, 9.1} {
		for c := range m {
			i := int(at * testRate)
			m[c][i] += 0.5
			m[c][i+1] -= 0.5
		}
	}
	dir := t.TempDir()
	mix := save(t, filepath.Join(dir, "mix.wav"), testRate, m)
	print := filepath.Join(dir, "print.wav")
	out, err := exec.Command(sox, "-G", mix, "-b", "24", print, "speed", "0.999963", "rate", "-v", "48000").CombinedOutput()
	require.NoError(t, err, string(out))
	r, err := Compare(t.Context(), mix, print, Options{})
	require.NoError(t, err)
	assert.InDelta(t, (1/0.999963-1)*1e6, r.DriftPPM, 0.3)
	assert.Empty(t, r.Events)
}
