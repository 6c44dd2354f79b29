package kinship

import "math"

// transform is a complex FFT of a fixed power-of-four size n, Stockham's self-sorting form in radix 4. A transform
// may be used by one goroutine at a time.
type transform struct {
	n       int
	twiddle []complex64 // exp(-2 pi i k / n)
	work    []complex64
}

func newTransform(n int) *transform {
	t := &transform{n: n, twiddle: make([]complex64, n), work: make([]complex64, n)}
	for k := range t.twiddle {
		s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(n))
		t.twiddle[k] = complex(float32(c), float32(s))
	}
	return t
}

// forward transforms x, n elements, in place.
func (t *transform) forward(x []complex64) {
	src, dst := x[:t.n], t.work
	for half, stride := t.n/4, 1; half >= 1; half, stride = half/4, stride*4 {
		step := t.n / (4 * half)
		for p := range half {
			w1 := t.twiddle[p*step]
			w2 := t.twiddle[2*p*step]
			w3 := t.twiddle[3*p*step]
			a := src[stride*p : stride*(p+1)]
			b := src[stride*(p+half) : stride*(p+half+1)][:len(a)]
			c := src[stride*(p+2*half) : stride*(p+2*half+1)][:len(a)]
			d := src[stride*(p+3*half) : stride*(p+3*half+1)][:len(a)]
			o := dst[4*stride*p : 4*stride*(p+1)]
			o0, o1, o2, o3 := o[:stride], o[stride:2*stride], o[2*stride:3*stride], o[3*stride:]
			for q := range a {
				ac, sc := a[q]+c[q], a[q]-c[q]
				bd, sd := b[q]+d[q], b[q]-d[q]
				turned := complex(imag(sd), -real(sd))
				o0[q] = ac + bd
				o1[q] = w1 * (sc + turned)
				o2[q] = w2 * (ac - bd)
				o3[q] = w3 * (sc - turned)
			}
		}
		src, dst = dst, src
	}
	if &src[0] != &x[0] {
		copy(x, src)
	}
}
