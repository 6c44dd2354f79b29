package demo

import (
	"errors"
	"io"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features/wavfile"
)

// lowestNoteHz are the lowest notes of instruments: open strings of bass and guitar (music21, instrument classes: bass
// E1, guitar E2), ranges of the others (abjad, sounding pitch: trumpet F#3, tenor saxophone Ab2, tenor trombone E2, bass
// voice E2, alto voice F3, piano A0); A4 = 440 Hz (ISO 16).
var lowestNoteHz = map[string]float64{
	"13 Bass DI": 41.20, "14 Bass Amp": 41.20,
	"15 E Gtr L": 82.41, "17 Lead Gtr": 82.41, "18 Acoustic Gtr": 82.41,
	"19 Piano": 27.50, "22 Trumpet": 185.00, "23 Sax": 103.83, "24 Trombone": 82.41,
	"25 Lead Vox": 174.61, "26 BV 1 High": 174.61, "27 BV 2 High": 174.61, "28 BV 3 Mid": 174.61,
	"30 BV 5 Low": 82.41, "31 BV 6 Low": 82.41,
}

// checkLowest finds, in the recordings, no partial below the lowest note of the instrument.
func checkLowest(t *testing.T, dir string) {
	for name, lowest := range lowestNoteHz {
		hz := lowestPartial(t, filepath.Join(dir, name+".wav"))
		t.Logf("%-16s lowest partial %6.1f Hz, lowest note %6.1f Hz", name, hz, lowest)
		assert.Greater(t, hz, lowest-binHz, name)
		assert.Less(t, hz, 8*lowest+400, "%s: a part so high would show nothing", name)
	}
}

// Frames of 16384 points at 48 kHz: bins of 2.9 Hz.
const (
	frameSize = 16384
	binHz     = float64(rate) / frameSize
)

// lowestPartial is the lowest frequency at which the long-term spectrum (Welch 1967, Hann window, half overlap) has a peak
// within 20 dB of its strongest and 12 dB above what lies just below it.
func lowestPartial(t *testing.T, path string) float64 {
	p := longTerm(t, path)
	const first = 20 * frameSize / rate
	strongest := slices.Max(p[first : 5000*frameSize/rate])
	for k := first; k < len(p)-2; k++ {
		peak := p[k] == slices.Max(p[k-2:k+3])
		if peak && p[k] > strongest/100 && p[k] > 16*slices.Min(p[k-7:k-3]) {
			return float64(k) * binHz
		}
	}
	t.Fatalf("%s: no partial stands out", path)
	return 0
}

func longTerm(t *testing.T, path string) []float64 {
	r, err := wavfile.Open(path)
	require.NoError(t, err)
	defer r.Close()
	block := make([][]float32, r.Info().Channels)
	for c := range block {
		block[c] = make([]float32, frameSize/2)
	}
	fft, sum := fourier.NewFFT(frameSize), make([]float64, frameSize/2+1)
	x, windowed := make([]float64, frameSize), make([]float64, frameSize)
	for {
		n, err := r.Read(block)
		copy(x, x[n:])
		for i := range n {
			x[frameSize-n+i] = 0
			for c := range block {
				x[frameSize-n+i] += float64(block[c][i])
			}
		}
		for i, v := range x {
			windowed[i] = v * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/frameSize))
		}
		for k, c := range fft.Coefficients(nil, windowed) {
			sum[k] += real(c)*real(c) + imag(c)*imag(c)
		}
		if errors.Is(err, io.EOF) {
			return sum
		}
		require.NoError(t, err)
	}
}
