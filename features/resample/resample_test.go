package resample

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// read puts a signal, given as a function of time in samples, through a kernel.
func read(f func(float64) float64, pos, step float64, n int) []float32 {
	k := New(step)
	first, length := k.Span(pos, n)
	src := make([]float32, length)
	for i := range src {
		src[i] = float32(f(float64(first) + float64(i)))
	}
	dst := make([]float32, n)
	k.Read([][]float32{dst}, [][]float32{src}, pos, first)
	return dst
}

// Expected values: the sine itself, which is known between its samples.
func TestASineIsReadBetweenItsSamples(t *testing.T) {
	for _, step := range []float64{1, 1.0005, 0.9995, 48000. / 44100, 44100. / 48000, 2, 0.5} {
		for _, f := range []float64{0.001, 0.02, 0.1, 0.3, 0.41} {
			f := f * math.Min(1, 1/step)
			if step > 1.01 && f > 0.15 {
				continue // on the slope of the low-pass, which is as wide in input samples as ever
			}
			sine := func(x float64) float64 { return math.Sin(2*math.Pi*f*x + 0.3) }
			for _, pos := range []float64{0, 1234.25, 1e6 + 0.377} {
				const n = 4000
				var sum float64
				for i, v := range read(sine, pos, step, n) {
					d := float64(v) - sine(pos+float64(i)*step)
					sum += d * d
				}
				db := 10 * math.Log10(sum/n/0.5)
				assert.Less(t, db, -74.0, "step %v, %v cycles a sample, from %v", step, f, pos)
				if f <= 0.1 {
					assert.Less(t, db, -80.0, "step %v, %v cycles a sample, from %v", step, f, pos)
				}
			}
		}
	}
}

func TestWhatWouldFoldIsRemoved(t *testing.T) {
	for _, f := range []float64{0.26, 0.35, 0.49} { // above half of the output's rate, step 2
		var sum float64
		got := read(func(x float64) float64 { return math.Sin(2 * math.Pi * f * x) }, 100.5, 2, 4000)
		for _, v := range got {
			sum += float64(v) * float64(v)
		}
		db := 10 * math.Log10(sum/4000/0.5)
		limit := -75.0
		if f < 0.3 { // on the slope
			limit = -10
		}
		assert.Less(t, db, limit, "%v", f)
	}
}

func TestWholePlacesAtSpeedOne(t *testing.T) {
	got := read(func(float64) float64 { return 0.7 }, 12, 1, 10)
	for _, v := range got {
		assert.InDelta(t, 0.7, v, 1e-6)
	}
}

func BenchmarkRead(b *testing.B) {
	for _, step := range []float64{1.0003, 44100. / 48000} {
		b.Run(fmt.Sprint(step), func(b *testing.B) {
			const n = 8192
			k := New(step)
			first, length := k.Span(1000.2, n)
			src := [][]float32{make([]float32, length), make([]float32, length)}
			dst := [][]float32{make([]float32, n), make([]float32, n)}
			b.SetBytes(n * 8)
			for b.Loop() {
				k.Read(dst, src, 1000.2, first)
			}
		})
	}
}

func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		New(1.0001)
	}
}
