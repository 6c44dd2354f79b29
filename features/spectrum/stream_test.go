package spectrum

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/testdata/signal"
)

var noise, sine = signal.Noise, signal.Sine

// frameLog keeps every frame it is given.
type frameLog struct{ frames [][]float32 }

func (l *frameLog) Frame(power []float32) {
	l.frames = append(l.frames, append([]float32(nil), power...))
}

func run(rate, block int, planes [][]float32, consumers ...Consumer) {
	s := NewStream(rate, len(planes), consumers...)
	for at := 0; at < len(planes[0]); at += block {
		part := make([][]float32, len(planes))
		for c := range planes {
			part[c] = planes[c][at:min(at+block, len(planes[0]))]
		}
		s.Write(part)
	}
	s.Close()
}

func result(rate int, planes ...[]float32) Result {
	m := New(rate, len(planes))
	run(rate, 4096, planes, m)
	return m.Result()
}

// The rule: 4096 up to 50 kHz, doubled per doubling of the rate, halved below 25 kHz.
func TestFrameSize(t *testing.T) {
	for rate, want := range map[int]int{
		1: 64, 4000: 512, 8000: 1024, 12499: 1024, 12500: 2048, 22050: 2048, 24999: 2048, 25000: 4096, 32000: 4096,
		44100: 4096, 48000: 4096, 50000: 4096, 50001: 8192, 88200: 8192, 96000: 8192, 176400: 16384, 192000: 16384,
		352800: 32768, 384000: 32768,
	} {
		assert.Equal(t, want, FrameSize(rate), "%d Hz", rate)
	}
}

func TestBlocksDoNotMatter(t *testing.T) {
	for _, channels := range []int{1, 2, 3} {
		for _, n := range []int{1, 480, 4095, 4096, 6143, 6144, 8192, 8193, 30000} {
			planes := make([][]float32, channels)
			for c := range planes {
				planes[c] = noise(n, uint32(c+1), 0.5)
			}
			var whole frameLog
			run(48000, n, planes, &whole)
			require.Len(t, whole.frames, max(1, (n-4096)/2048+1))
			for _, block := range []int{1, 7, 1000, 2048, 5000} {
				var parts frameLog
				run(48000, block, planes, &parts)
				require.Equal(t, whole.frames, parts.frames, "%d channels, %d samples, blocks of %d", channels, n, block)
			}
		}
	}
}

// Parseval: the sum over a frame's bins is the mean square of the samples under the squared window.
func TestFramePowerIsMeanSquare(t *testing.T) {
	for _, channels := range []int{1, 2, 3, 4} {
		n := 4096 + 2048
		planes := make([][]float32, channels)
		for c := range planes {
			planes[c] = noise(n, uint32(c+1), 0.25)
		}
		var log frameLog
		run(48000, n, planes, &log)
		require.Len(t, log.frames, 2)
		for f, frame := range log.frames {
			var want, weights, got float64
			for i := range 4096 {
				w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/4096)
				weights += w * w
				for c := range planes {
					v := w * float64(planes[c][f*2048+i])
					want += v * v / float64(channels)
				}
			}
			for _, p := range frame {
				got += float64(p)
			}
			assert.InEpsilon(t, want/weights, got, 1e-6, "%d channels, frame %d", channels, f)
		}
	}
}

// A full-scale sine has a mean square of 1/2, at any rate and for any number of channels.
func TestSineSumsToHalf(t *testing.T) {
	for _, rate := range []int{8000, 44100, 48000, 96000, 192000, 384000} {
		x := sine(rate, float64(rate), 1000, 1)
		assert.InDelta(t, 0.5, result(rate, x).Total, 1e-4, "%d Hz", rate)
		assert.InDelta(t, 0.5, result(rate, x, x).Total, 1e-4, "%d Hz, two channels", rate)
	}
}

// Frames of silence are delivered, and are zero to the last bit even beside loud ones.
func TestSilentFramesAreZero(t *testing.T) {
	for _, channels := range []int{1, 2} {
		for _, lead := range []int{4096, 6144, 8192, 10240} {
			x := append(make([]float32, lead), noise(20480, 1, 1)...)
			x = append(x, make([]float32, 12288)...)
			planes := [][]float32{x, x}[:channels]
			var log frameLog
			run(48000, 1000, planes, &log)
			require.Len(t, log.frames, (len(x)-4096)/2048+1)
			for f, frame := range log.frames {
				from, to := f*2048, f*2048+4096
				silent := to <= lead || from >= lead+20480
				var sum float32
				for _, p := range frame {
					sum += p
				}
				assert.Equal(t, silent, sum == 0, "%d channels, lead %d, frame %d", channels, lead, f)
			}
		}
	}
}

func TestWriteDoesNotAllocate(t *testing.T) {
	for _, channels := range []int{1, 2, 5} {
		planes := make([][]float32, channels)
		for c := range planes {
			planes[c] = noise(9000, uint32(c+1), 0.5)
		}
		s := NewStream(48000, channels, New(48000, channels))
		assert.Zero(t, testing.AllocsPerRun(10, func() { s.Write(planes) }), fmt.Sprintf("%d channels", channels))
	}
}

func TestResetStartsAfresh(t *testing.T) {
	x := [][]float32{noise(12288, 3, 0.5)}
	var first, second frameLog
	s := NewStream(48000, 1, &first)
	s.Write(x)
	s.Write([][]float32{x[0][:100]})
	s.Reset(&second)
	s.Write(x)
	s.Close()
	var want frameLog
	run(48000, 12288, x, &want)
	assert.Equal(t, want.frames, second.frames)
}
