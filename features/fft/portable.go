package fft

import "math"

// portable is the transform in plain Go: elements are complex64 in natural order.
type portable struct {
	twiddle [][]complex64 // one table a stage but the last: seven factors for each p
	x, y    []complex64
	out     []complex64 // x or y, after run
}

const sqrtHalf = math.Sqrt2 / 2

func newPortable(n int) *portable {
	t := &portable{x: make([]complex64, n), y: make([]complex64, n)}
	for m := n; m > 8; m /= 8 {
		w := make([]complex64, 0, 7*(m/8))
		for p := range m / 8 {
			for j := 1; j < 8; j++ {
				w = append(w, root(p*j, m))
			}
		}
		t.twiddle = append(t.twiddle, w)
	}
	return t
}

// root is exp(-2 pi i k/n).
func root(k, n int) complex64 {
	s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(n))
	return complex(float32(c), float32(s))
}

func (t *portable) run(a, b, window []float32) {
	x, y := t.x, t.y
	first8(x, a, b, window, t.twiddle[0])
	stride, m := 8, len(x)/8
	for _, w := range t.twiddle[1:] {
		middle8(y, x, w, stride)
		x, y = y, x
		stride *= 8
		m /= 8
	}
	switch m {
	case 8:
		last8(y, x)
	case 4:
		last4(y, x)
	default:
		last2(y, x)
	}
	t.out = y
}

func (t *portable) at(k int) (re, im float32) { return real(t.out[k]), imag(t.out[k]) }

func (t *portable) spectra(first, stride int, aRe, aIm, bRe, bIm []float32) {
	n := len(t.out)
	for i := range aRe {
		k := first + i*stride
		u, v := t.out[k], t.out[n-k]
		aRe[i], aIm[i] = (real(u)+real(v))/2, (imag(u)-imag(v))/2
		bRe[i], bIm[i] = (imag(u)+imag(v))/2, (real(v)-real(u))/2
	}
}

// power sets dst[k] to keep*dst[k] + |z[k]|^2 + |z[-k]|^2 for k = 1..len(z)/2-1.
func (t *portable) power(dst []float32, add bool) {
	z, n := t.out, len(t.out)/2
	up, down := z[1:n], z[n+1:]
	down, dst = down[:len(up)], dst[1:n][:len(up)]
	if !add {
		for i, v := range up {
			dst[i] = square(v) + square(down[len(down)-1-i])
		}
		return
	}
	for i, v := range up {
		dst[i] += square(v) + square(down[len(down)-1-i])
	}
}

// powers sets a[k] and b[k], k = 1..len(z)/2-1, to the one-sided powers of the two real signals packed.
func (t *portable) powers(a, b []float32) {
	z, n := t.out, len(t.out)/2
	up, down := z[1:n], z[n+1:]
	down, a, b = down[:len(up)], a[1:n][:len(up)], b[1:n][:len(up)]
	for i, v := range up {
		w := down[len(down)-1-i]
		sr, dr := real(v)+real(w), real(v)-real(w)
		si, di := imag(v)+imag(w), imag(v)-imag(w)
		a[i] = 0.5 * (sr*sr + di*di)
		b[i] = 0.5 * (si*si + dr*dr)
	}
}

func square(v complex64) float32 { return real(v)*real(v) + imag(v)*imag(v) }

// mul returns (r + i im) * w.
func mul(r, im float32, w complex64) complex64 {
	return complex(r*real(w)-im*imag(w), r*imag(w)+im*real(w))
}

// first8 is the first stage: window, pack, butterflies of radix 8.
func first8(out []complex64, a, b, window []float32, tw []complex64) {
	m := len(out) / 8
	r0, i0, w0 := a[:m], b[:m], window[:m]
	r1, i1, w1 := a[m:][:m], b[m:][:m], window[m:][:m]
	r2, i2, w2 := a[2*m:][:m], b[2*m:][:m], window[2*m:][:m]
	r3, i3, w3 := a[3*m:][:m], b[3*m:][:m], window[3*m:][:m]
	r4, i4, w4 := a[4*m:][:m], b[4*m:][:m], window[4*m:][:m]
	r5, i5, w5 := a[5*m:][:m], b[5*m:][:m], window[5*m:][:m]
	r6, i6, w6 := a[6*m:][:m], b[6*m:][:m], window[6*m:][:m]
	r7, i7, w7 := a[7*m:][:m], b[7*m:][:m], window[7*m:][:m]
	for p := range r0 {
		o := (*[8]complex64)(out[8*p:])
		w := (*[7]complex64)(tw[7*p:])

		pr, pi := r0[p]*w0[p], i0[p]*w0[p]
		qr, qi := r4[p]*w4[p], i4[p]*w4[p]
		b0r, b0i := pr+qr, pi+qi
		c0r, c0i := pr-qr, pi-qi
		pr, pi = r2[p]*w2[p], i2[p]*w2[p]
		qr, qi = r6[p]*w6[p], i6[p]*w6[p]
		b2r, b2i := pr+qr, pi+qi
		c2r, c2i := pi-qi, qr-pr
		pr, pi = r1[p]*w1[p], i1[p]*w1[p]
		qr, qi = r5[p]*w5[p], i5[p]*w5[p]
		b1r, b1i := pr+qr, pi+qi
		sr, si := pr-qr, pi-qi
		c1r, c1i := sqrtHalf*(sr+si), sqrtHalf*(si-sr)
		pr, pi = r3[p]*w3[p], i3[p]*w3[p]
		qr, qi = r7[p]*w7[p], i7[p]*w7[p]
		b3r, b3i := pr+qr, pi+qi
		sr, si = pr-qr, pi-qi
		c3r, c3i := sqrtHalf*(si-sr), -sqrtHalf*(sr+si)

		d0r, d0i := b0r+b2r, b0i+b2i
		d1r, d1i := b0r-b2r, b0i-b2i
		d2r, d2i := b1r+b3r, b1i+b3i
		d3r, d3i := b1i-b3i, b3r-b1r
		o[0] = complex(d0r+d2r, d0i+d2i)
		o[4] = mul(d0r-d2r, d0i-d2i, w[3])
		o[2] = mul(d1r+d3r, d1i+d3i, w[1])
		o[6] = mul(d1r-d3r, d1i-d3i, w[5])
		d0r, d0i = c0r+c2r, c0i+c2i
		d1r, d1i = c0r-c2r, c0i-c2i
		d2r, d2i = c1r+c3r, c1i+c3i
		d3r, d3i = c1i-c3i, c3r-c1r
		o[1] = mul(d0r+d2r, d0i+d2i, w[0])
		o[5] = mul(d0r-d2r, d0i-d2i, w[4])
		o[3] = mul(d1r+d3r, d1i+d3i, w[2])
		o[7] = mul(d1r-d3r, d1i-d3i, w[6])
	}
}
