package vec

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// noise is Gaussian, with a chance of one in eight for each sample to be one of the extras.
func noise(n int, seed uint64, extras ...float32) []float32 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(r.NormFloat64())
		if len(extras) > 0 && r.IntN(8) == 0 {
			x[i] = extras[r.IntN(len(extras))]
		}
	}
	return x
}

func tiny() float32     { return math.Float32frombits(1) } // the smallest denormal number
func infinite() float32 { return float32(math.Inf(1)) }
func nan() float32      { return float32(math.NaN()) }

// near demands equal sums: to the given number of roundings of the sum of magnitudes, and not a number where the other
// is none.
func near(t *testing.T, want, got, magnitudes, precision float64, what string) {
	t.Helper()
	if precision == single && magnitudes > math.MaxFloat32/2 {
		return // whether a sum overflows on the way depends on its order
	}
	if want-want != 0 {
		require.True(t, got-got != 0, "%s: want %g, got %g", what, want, got)
		return
	}
	require.InDelta(t, want, got, precision*magnitudes+1e-44, what)
}

const (
	single = 1e-5  // up to a hundred or so roundings of float32
	double = 1e-14 // of float64
)

// check compares every exported function with its plain Go on two planes of equal length.
func check(t *testing.T, x, y []float32) {
	t.Helper()
	n := len(x)
	abs := func(v float32) float64 { return math.Abs(float64(v)) }
	var products, differences, sums, squares float64
	for i, v := range x {
		products += abs(v) * abs(y[i])
		d := float64(v - y[i])
		differences += d * d
		sums += abs(v) + abs(y[i])
		squares += abs(v) * abs(v)
	}
	require.Equal(t, peakBits(x), math.Float32bits(Peak(x)), "Peak")
	tops := make([]float32, n/PeakBlock)
	Peaks(tops, x)
	for i, top := range tops {
		require.Equal(t, peakBits(x[i*PeakBlock:][:PeakBlock]), math.Float32bits(top), "Peaks")
	}
	near(t, float64(dot(x, y)), float64(Dot(x, y)), products, single, "Dot")
	near(t, squaredDifference(x, y), SquaredDifference(x, y), differences, double, "SquaredDifference")
	s, d := sumAndDistance(x, y)
	s1, d1 := SumAndDistance(x, y)
	near(t, float64(s), float64(s1), sums, single, "sum")
	near(t, float64(d), float64(d1), sums, single, "distance")

	a, b := make([]float64, n), make([]float64, n)
	accumulate(a, x)
	Accumulate(b, x)
	Accumulate(b, y)
	accumulate(a, y)
	same(t, a, b, "Accumulate")
	add(a, b)
	Add(b, slices.Clone(b))
	same(t, a, b, "Add")
	u, v := make([]float32, n), make([]float32, n)
	average(u, x, y)
	Average(v, x, y)
	same(t, u, v, "Average")
	fourthRoots(u, x)
	FourthRoots(v, x)
	same(t, u, v, "FourthRoots")

	for _, length := range []int{1, 3, 7, 8, 9, 16, 44, 48} {
		if n < length {
			break
		}
		got := make([]Cell, n/length)
		Cells(got, x, length)
		for i, g := range got {
			w := cell(x[i*length:][:length])
			what := fmt.Sprintf("cell %d of %d", i, length)
			near(t, w.Sum, g.Sum, sums, double, what)
			near(t, w.Square, g.Square, squares, double, what)
			near(t, w.Abs, g.Abs, sums, single, what)
			require.Equal(t, math.Float32bits(w.Peak), math.Float32bits(g.Peak), what)
		}
	}

	u, v = u[:n/GroupSize], v[:n/GroupSize]
	if n > 0 {
		p, s := groups(u, x[:len(u)*GroupSize], y[0])
		p1, s1 := Groups(v, x, y[0])
		near(t, float64(p), float64(p1), squares, single, "power")
		near(t, float64(s), float64(s1), 4*squares+abs(y[0])*abs(y[0]), single, "slope")
		for i, w := range u {
			near(t, float64(w), float64(v[i]), sums, single, "group")
		}
	}
}

func TestHalve(t *testing.T) {
	for n := range 40 {
		x := noise(2*n+2, uint64(n))
		want, got := make([]float32, n), make([]float32, n)
		halve(want, x)
		Halve(got, x)
		for i := range want {
			plain := (float64(x[2*i]) + 3*float64(x[2*i+1]) + 3*float64(x[2*i+2]) + float64(x[2*i+3])) / 8
			assert.InDelta(t, plain, float64(got[i]), 1e-6)
			assert.InDelta(t, plain, float64(want[i]), 1e-6)
		}
	}
}

// same demands equal bits, any NaN being as good as another.
func same[T float32 | float64](t *testing.T, want, got []T, what string) {
	t.Helper()
	for i, w := range want {
		require.True(t, w == got[i] || w != w && got[i] != got[i], "%s: element %d: want %g, got %g", what, i, w, got[i])
	}
}

func TestKernelsEqualPlainGo(t *testing.T) {
	for n := range 140 {
		check(t, noise(n, uint64(n)), noise(n, uint64(n+1000)))
		check(t, noise(n, uint64(n), 0, tiny(), -tiny(), 1e-40), noise(n, uint64(n+1000), tiny(), 0))
		check(t, noise(n, uint64(n), nan(), infinite(), -infinite(), math.MaxFloat32), noise(n, uint64(n+1000), math.MaxFloat32))
	}
	check(t, noise(5000, 1), noise(5000, 2))
	// not at the beginning of a line of the cache
	for skip := range 9 {
		check(t, noise(500, 1)[skip:], noise(500, 2)[skip:])
	}
}

func FuzzKernelsEqualPlainGo(f *testing.F) {
	f.Add(uint16(0), uint64(1), uint32(0), uint32(0))
	f.Add(uint16(100), uint64(2), uint32(0x7FC00000), uint32(1))
	f.Add(uint16(37), uint64(3), uint32(0xFF800000), uint32(0x80000001))
	f.Fuzz(func(t *testing.T, n uint16, seed uint64, a, b uint32) {
		u, v := math.Float32frombits(a), math.Float32frombits(b)
		check(t, noise(int(n)%600, seed, u, v, 0), noise(int(n)%600, seed+1, v))
	})
}

func TestDots(t *testing.T) {
	x, filters := noise(3000, 1), noise(129*MaxTaps, 2)
	for r := range 129 {
		clear(filters[r*MaxTaps+28 : (r+1)*MaxTaps])
	}
	r := rand.New(rand.NewPCG(3, 4))
	for n := range 40 {
		taps := make([]Tap, n)
		for i := range taps {
			taps[i] = Tap{At: int32(r.IntN(3000 - MaxTaps + 1)), Row: int32(r.IntN(129))}
		}
		got := make([]float32, n)
		Dots(got, x, filters, taps, 28)
		for i, tap := range taps {
			want, size := 0.0, 0.0
			for k := range MaxTaps {
				p := float64(x[int(tap.At)+k]) * float64(filters[int(tap.Row)*MaxTaps+k])
				want += p
				size += math.Abs(p)
			}
			assert.InDelta(t, want, float64(got[i]), 1e-6*size)
			assert.InDelta(t, want, float64(dotRow(x[tap.At:], filters[tap.Row*MaxTaps:], 28)), 1e-6*size)
		}
	}
	for _, bad := range []Tap{{At: -1}, {At: 3000 - MaxTaps + 1}, {Row: 129}, {Row: -1}} {
		assert.Panics(t, func() { Dots(make([]float32, 8), x, filters, []Tap{bad, {}, {}, {}, {}, {}, {}, {}}, 28) }, "%+v", bad)
	}
}

// The expected values are the definition, in float64.
func TestCross(t *testing.T) {
	for rows := range 40 {
		x, y := noise(rows*CrossRow+5, uint64(rows)), noise(rows*CrossRow+7, uint64(rows+50))
		before := noise(CrossRow, uint64(rows+100))
		got, plain := slices.Clone(before), slices.Clone(before)
		Cross(got, x, y)
		crossRows(plain, x, y)
		for k := range CrossColumns {
			re, im, power, size := float64(before[k]), float64(before[k+CrossColumns]), float64(before[k+2*CrossColumns]), 1.0
			for r := range rows {
				at := func(v []float32, part int) float64 { return float64(v[r*CrossRow+part*CrossColumns+k]) }
				p := complex(at(y, 0), at(y, 1)) * complex(at(x, 0), -at(x, 1))
				re, im, power = re+real(p), im+imag(p), power+at(x, 2)*at(y, 2)
				size += cmplx.Abs(p) + math.Abs(at(x, 2)*at(y, 2))
			}
			for _, v := range [][]float32{got, plain} {
				assert.InDelta(t, re, float64(v[k]), 1e-6*size)
				assert.InDelta(t, im, float64(v[k+CrossColumns]), 1e-6*size)
				assert.InDelta(t, power, float64(v[k+2*CrossColumns]), 1e-6*size)
			}
		}
	}
	assert.Panics(t, func() { Cross(make([]float32, CrossRow-1), noise(CrossRow, 1), noise(CrossRow, 2)) })
	assert.Panics(t, func() { Cross(make([]float32, CrossRow), noise(2*CrossRow, 1), noise(CrossRow, 2)) })
}

func TestQuantise(t *testing.T) {
	for n := range 70 {
		x := noise(n, uint64(n), 0, tiny(), 0.5, -0.5, 1.5, -1.5)
		gain := 127 / max(Peak(x), 1)
		want, got := make([]int8, n), make([]int8, n)
		quantise(want, x, gain)
		Quantise(got, x, gain)
		assert.Equal(t, want, got)
		for i, v := range x {
			assert.InDelta(t, float64(v*gain), float64(got[i]), 0.500001)
		}
		back, plain := make([]float32, n), make([]float32, n)
		Dequantise(back, got, 1/gain)
		dequantise(plain, got, 1/gain)
		for i, c := range got {
			assert.Equal(t, float32(c)*(1/gain), back[i])
			assert.Equal(t, back[i], plain[i])
		}
	}
}

// The expected values are the definition.
func TestCrossPlanes(t *testing.T) {
	for n := range 40 {
		x, y, got := noise(2*n, uint64(n)), noise(2*n, uint64(n+50)), noise(2*n, uint64(n+100))
		before, plain := slices.Clone(got), slices.Clone(got)
		CrossPlanes(got, x, y)
		crossPlanes(plain[:n], plain[n:], x[:n], x[n:], y[:n], y[n:])
		assert.Equal(t, plain, got)
		for k := range n {
			want := complex(float64(before[k]), float64(before[n+k])) + complex(float64(y[k]), float64(y[n+k]))*complex(float64(x[k]), -float64(x[n+k]))
			assert.InDelta(t, real(want), float64(got[k]), 1e-5)
			assert.InDelta(t, imag(want), float64(got[n+k]), 1e-5)
		}
	}
	assert.Panics(t, func() { CrossPlanes(make([]float32, 16), noise(14, 1), noise(16, 2)) })
}

func TestNth(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := 1; n < 40; n++ {
		v := make([]float64, n)
		for i := range v {
			v[i] = float64(r.IntN(20)) // some are equal
		}
		sorted := slices.Sorted(slices.Values(v))
		for k, want := range sorted {
			assert.Equal(t, want, Nth(v, k))
		}
		assert.Equal(t, sorted, slices.Sorted(slices.Values(v)))
	}
}

func TestNothingAllocates(t *testing.T) {
	x, y, sum, cells, taps := noise(4096, 1), noise(4096, 2), make([]float64, 4096), make([]Cell, 80), make([]Tap, 100)
	assert.Zero(t, testing.AllocsPerRun(10, func() {
		Peak(x)
		Dot(x, y)
		Accumulate(sum, x)
		Cells(cells, x, 48)
		Dots(y[:100], x, x, taps, 32)
		Cross(y, x, x)
	}))
}

// bench runs the head over a block of the measuring pass and plain Go over the same.
func bench(b *testing.B, name string, samples int, vector, plain func()) {
	for _, way := range []struct {
		name string
		run  func()
	}{{"as built", vector}, {"plain Go", plain}} {
		b.Run(name+", "+way.name, func(b *testing.B) {
			for b.Loop() {
				way.run()
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(samples), "ns/sample")
		})
	}
}

func BenchmarkVec(b *testing.B) {
	x, y, out := noise(4096, 1), noise(4096, 2), make([]float32, 4096)
	for i, v := range x {
		x[i] = v * v
	}
	sum, cells, codes := make([]float64, 4096), make([]Cell, 4096/48), make([]int8, 4096)
	bench(b, "Peak", 64, func() { Peak(x[:64]) }, func() { peakBits(x[:64]) })
	bench(b, "Dot", 240, func() { Dot(x[:240], y[:240]) }, func() { dot(x[:240], y[:240]) })
	bench(b, "SquaredDifference", 4096, func() { SquaredDifference(x, y) }, func() { squaredDifference(x, y) })
	bench(b, "Accumulate", 2049, func() { Accumulate(sum[:2049], x[:2049]) }, func() { accumulate(sum[:2049], x[:2049]) })
	bench(b, "Average", 4096, func() { Average(out, x, y) }, func() { average(out, x, y) })
	bench(b, "FourthRoots", 427, func() { FourthRoots(out[:427], x[:427]) }, func() { fourthRoots(out[:427], x[:427]) })
	bench(b, "SumAndDistance", 427, func() { SumAndDistance(x[:427], y[:427]) }, func() { sumAndDistance(x[:427], y[:427]) })
	bench(b, "Cells", 4080, func() { Cells(cells, x, 48) }, func() {
		for i := range cells {
			cells[i] = cell(x[i*48:][:48])
		}
	})
	bench(b, "Groups", 240, func() { Groups(out[:30], x[:240], 0) }, func() { groups(out[:30], x[:240], 0) })
	taps, filters := make([]Tap, 340), noise(129*MaxTaps, 3)
	for i := range taps {
		taps[i] = Tap{At: int32(2 * i), Row: 5}
	}
	bench(b, "Dots", 340, func() { Dots(out[:340], x, filters, taps, 28) }, func() {
		for i, t := range taps {
			out[i] = dotRow(x[t.At:], filters[t.Row*MaxTaps:], 28)
		}
	})
	bench(b, "Halve", 4096, func() { Halve(out[:2047], x) }, func() { halve(out[:2047], x) })
	bench(b, "Quantise", 256, func() { Quantise(codes[:256], x[:256], 3) }, func() { quantise(codes[:256], x[:256], 3) })
}

// levels are codes of bands, with rests.
func levels(frames int, seed uint64) []uint8 {
	r := rand.New(rand.NewPCG(seed, 5))
	x := make([]uint8, frames*Bands)
	for i := range x {
		if r.IntN(3) > 0 {
			x[i] = uint8(r.IntN(200))
		}
	}
	return x
}

// The expected values are the definitions, band by band.
func TestBands(t *testing.T) {
	for frames := range 30 {
		x, y := levels(frames, uint64(frames)), levels(frames, uint64(frames+100))
		var floor [Bands]int32
		var highest, plain [Bands]uint8
		for i, v := range x {
			highest[i%Bands] = max(highest[i%Bands], v)
		}
		assert.Equal(t, highest, PeakBands(x))
		peakBands(&plain, x)
		assert.Equal(t, highest, plain)
		for k := range floor {
			floor[k] = int32(k*9) - 50
		}

		above := make([]uint8, len(x))
		AboveFloors(above, x, &floor)
		for i, v := range x {
			assert.Equal(t, max(int(v)-int(floor[i%Bands]), 0), int(above[i]))
		}
		for _, fall := range []int32{1, FallOne / 3, FallOne, 7*FallOne + 1, 90 * FallOne, FallFree} {
			var got, want, plain BandSums
			SumBands(&got, x, y, &floor, fall)
			for k := range Bands {
				course := 0.0
				for f := range frames {
					course = max(float64(x[f*Bands+k]), course-float64(fall)/FallOne)
					level := uint32(max(math.Floor(course+0.5)-float64(floor[k]), 0))
					want.Level[k] += level
					want.Square[k] += level * level
					want.Product[k] += level * uint32(y[f*Bands+k])
				}
			}
			assert.Equal(t, want, got, "%d frames, fall %d", frames, fall)
			sumBands(&plain, x, y, &floor, fall)
			assert.Equal(t, want, plain)
		}
	}
	assert.Panics(t, func() { SumBands(&BandSums{}, levels(3, 1), levels(2, 1), &[Bands]int32{}, FallFree) })
	assert.Panics(t, func() { AboveFloors(make([]uint8, 96), levels(3, 1), &[Bands]int32{}) })
}

// Each row is to the bit what Cross makes of the same rows: lags differ only in where y begins, and rows of zeros change nothing.
func TestCrossLagged(t *testing.T) {
	for rows := range 20 {
		x, y := noise(rows*CrossRow+5, uint64(rows)), noise((rows+CrossLags-1)*CrossRow+7, uint64(rows+50))
		before := noise(CrossLags*CrossRow, uint64(rows+100))
		got, want, plain := slices.Clone(before), slices.Clone(before), slices.Clone(before)
		CrossLagged(got, x, y)
		for l := range CrossLags {
			Cross(want[l*CrossRow:], x, y[l*CrossRow:])
			crossRows(plain[l*CrossRow:][:CrossRow], x[:rows*CrossRow], y[l*CrossRow:])
		}
		assert.Equal(t, want, got)
		for i, v := range plain {
			assert.InDelta(t, float64(v), float64(got[i]), 1e-4)
		}
		clear(y[:CrossRow])
		if rows > 1 {
			got, want = slices.Clone(before), slices.Clone(before)
			CrossLagged(got, x, y)
			Cross(want, x[CrossRow:], y[CrossRow:])
			assert.Equal(t, want[:CrossRow], got[:CrossRow])
		}
	}
	assert.Panics(t, func() { CrossLagged(make([]float32, CrossLags*CrossRow-1), noise(CrossRow, 1), noise(3*CrossRow, 2)) })
	assert.Panics(t, func() { CrossLagged(make([]float32, CrossLags*CrossRow), noise(CrossRow, 1), noise(3*CrossRow-1, 2)) })
}

// The expected values are the definition.
func TestCrossRows(t *testing.T) {
	const gain = 0.3
	for blocks := range 5 {
		n := blocks * CrossColumns
		part := func(seed uint64) []float32 { return noise(n, seed) }
		spectrum := func(seed uint64, stride int) Spectrum {
			return Spectrum{Re: part(seed), Im: part(seed + 1), Rows: make([]float32, 5*stride), Stride: stride}
		}
		a, b := spectrum(1, CrossRow), spectrum(3, 7*CrossRow)
		total := noise(n, 9)
		before := slices.Clone(total)
		CrossRows(total, a, b, gain)
		for i := range n {
			var powers [2]float32
			for f, s := range []Spectrum{a, b} {
				row := s.Rows[i/CrossColumns*s.Stride:]
				re, im := s.Re[i]*gain, s.Im[i]*gain
				powers[f] = re*re + im*im
				k := i % CrossColumns
				assert.Equal(t, []float32{re, im, powers[f]}, []float32{row[k], row[k+CrossColumns], row[k+2*CrossColumns]})
				plain := s
				plain.Rows = slices.Clone(s.Rows)
				assert.Equal(t, powers[f], plain.row(i/CrossColumns, gain)[k])
				assert.Equal(t, s.Rows, plain.Rows)
			}
			assert.Equal(t, before[i]+(powers[0]+powers[1]), total[i])
		}
	}
	short := Spectrum{Re: noise(16, 1), Im: noise(16, 1), Rows: make([]float32, CrossRow-1)}
	assert.Panics(t, func() { CrossRows(make([]float32, 16), short, short, 1) })
}
