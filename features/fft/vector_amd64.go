//go:build amd64 && !purego

package fft

import (
	"unsafe"

	"golang.org/x/sys/cpu"
)

// vectors tells whether the processor runs the kernels.
var vectors = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// vector is the transform by vector kernels. Complex numbers lie in blocks of eight: eight real parts, then eight
// imaginary parts.
type vector struct {
	n       int
	first   []float32   // factors of the first stage, by eight groups
	twiddle [][]float32 // factors of the stages in the middle: seven complex numbers a group
	x, y    []float32
	out     []float32 // x or y, after run
	parts   []float32 // room for spectra
}

func newVector(n int) engine {
	t := &vector{n: n, x: aligned(2*n, 0), y: aligned(2*n, 32)}
	t.first = make([]float32, 0, 14*n/8)
	for p := 0; p < n/8; p += 8 {
		for j := 1; j < 8; j++ {
			var block [16]float32
			for lane := range 8 {
				w := root((p+lane)*j, n)
				block[lane], block[8+lane] = real(w), imag(w)
			}
			t.first = append(t.first, block[:]...)
		}
	}
	for m := n / 8; m > 8; m /= 8 {
		var table []float32
		for p := range m / 8 {
			for j := 1; j < 8; j++ {
				w := root(p*j, m)
				table = append(table, real(w), imag(w))
			}
		}
		t.twiddle = append(t.twiddle, table)
	}
	return t
}

// aligned makes n numbers that begin at the start of a line of the cache, or some lines after where a page would begin,
// so that two such arrays do not compete for the same places of the cache.
func aligned(n, lines int) []float32 {
	const line = 16 // numbers
	x := make([]float32, n+(1+lines)*line)
	skip := lines * line
	for uintptr(unsafe.Pointer(&x[skip]))%64 != 0 {
		skip++
	}
	return x[skip:][:n:n]
}

func (t *vector) run(a, b, window []float32) {
	x, y := t.x, t.y
	first8AVX2(&x[0], &a[0], &b[0], &window[0], &t.first[0], t.n)
	stride, m := 8, t.n/8
	for _, w := range t.twiddle {
		middle8AVX2(&y[0], &x[0], &w[0], t.n, stride)
		x, y = y, x
		stride *= 8
		m /= 8
	}
	switch m {
	case 8:
		last8AVX2(&y[0], &x[0], nil, t.n, stride)
	case 4:
		last4AVX2(&y[0], &x[0], t.n)
	default:
		last2AVX2(&y[0], &x[0], t.n)
	}
	t.out = y
}

func (t *vector) at(k int) (re, im float32) {
	at := k&^7*2 + k&7
	return t.out[at], t.out[at+8]
}

func (t *vector) spectra(first, stride int, aRe, aIm, bRe, bIm []float32) {
	n, half := len(aRe), t.n/2
	if stride == 1 {
		if t.parts == nil {
			t.parts = aligned(2*t.n, 0)
		}
		separateAVX2(&t.parts[0], &t.out[0], t.n)
		n = min(n, half-first)
		for i, dst := range [][]float32{aRe, aIm, bRe, bIm} {
			copy(dst[:n], t.parts[i*half+first:])
		}
	} else {
		n = 0
	}
	for i := n; i < len(aRe); i++ {
		k := first + i*stride
		u, v := k&^7*2+k&7, (t.n-k)&^7*2+(t.n-k)&7
		ur, ui, vr, vi := t.out[u], t.out[u+8], t.out[v], t.out[v+8]
		aRe[i], aIm[i] = (ur+vr)/2, (ui-vi)/2
		bRe[i], bIm[i] = (ui+vi)/2, (vr-ur)/2
	}
}

func (t *vector) power(dst []float32, add bool) {
	keep := float32(0)
	if add {
		keep = 1
	}
	_ = dst[t.n/2-1]
	powerAVX2(&dst[0], &t.out[0], t.n, keep)
}

func (t *vector) powers(a, b []float32) {
	_, _ = a[t.n/2-1], b[t.n/2-1]
	powersAVX2(&a[0], &b[0], &t.out[0], t.n)
}
