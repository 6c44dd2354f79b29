package fft

// middle8 is a stage of radix 8 with twiddle factors; s is the product of the radices before it.
func middle8(out, in, tw []complex64, s int) {
	m := len(in) / 8
	x0, x1, x2, x3 := in[:m], in[m:][:m], in[2*m:][:m], in[3*m:][:m]
	x4, x5, x6, x7 := in[4*m:][:m], in[5*m:][:m], in[6*m:][:m], in[7*m:][:m]
	i := 0
	for p := range m / s {
		w := (*[7]complex64)(tw[7*p:])
		o := out[8*s*p:][:8*s]
		y0, y1, y2, y3 := o[:s], o[s:][:s], o[2*s:][:s], o[3*s:][:s]
		y4, y5, y6, y7 := o[4*s:][:s], o[5*s:][:s], o[6*s:][:s], o[7*s:][:s]
		for q := range y0 {
			a, b := x0[i], x4[i]
			b0r, b0i := real(a)+real(b), imag(a)+imag(b)
			c0r, c0i := real(a)-real(b), imag(a)-imag(b)
			a, b = x2[i], x6[i]
			b2r, b2i := real(a)+real(b), imag(a)+imag(b)
			c2r, c2i := imag(a)-imag(b), real(b)-real(a)
			a, b = x1[i], x5[i]
			b1r, b1i := real(a)+real(b), imag(a)+imag(b)
			sr, si := real(a)-real(b), imag(a)-imag(b)
			c1r, c1i := sqrtHalf*(sr+si), sqrtHalf*(si-sr)
			a, b = x3[i], x7[i]
			b3r, b3i := real(a)+real(b), imag(a)+imag(b)
			sr, si = real(a)-real(b), imag(a)-imag(b)
			c3r, c3i := sqrtHalf*(si-sr), -sqrtHalf*(sr+si)
			i++

			d0r, d0i := b0r+b2r, b0i+b2i
			d1r, d1i := b0r-b2r, b0i-b2i
			d2r, d2i := b1r+b3r, b1i+b3i
			d3r, d3i := b1i-b3i, b3r-b1r
			y0[q] = complex(d0r+d2r, d0i+d2i)
			y4[q] = mul(d0r-d2r, d0i-d2i, w[3])
			y2[q] = mul(d1r+d3r, d1i+d3i, w[1])
			y6[q] = mul(d1r-d3r, d1i-d3i, w[5])
			d0r, d0i = c0r+c2r, c0i+c2i
			d1r, d1i = c0r-c2r, c0i-c2i
			d2r, d2i = c1r+c3r, c1i+c3i
			d3r, d3i = c1i-c3i, c3r-c1r
			y1[q] = mul(d0r+d2r, d0i+d2i, w[0])
			y5[q] = mul(d0r-d2r, d0i-d2i, w[4])
			y3[q] = mul(d1r+d3r, d1i+d3i, w[2])
			y7[q] = mul(d1r-d3r, d1i-d3i, w[6])
		}
	}
}

// last8 is a last stage of radix 8, which needs no twiddle factors.
func last8(out, in []complex64) {
	m := len(in) / 8
	x0, x1, x2, x3 := in[:m], in[m:][:m], in[2*m:][:m], in[3*m:][:m]
	x4, x5, x6, x7 := in[4*m:][:m], in[5*m:][:m], in[6*m:][:m], in[7*m:][:m]
	y0, y1, y2, y3 := out[:m], out[m:][:m], out[2*m:][:m], out[3*m:][:m]
	y4, y5, y6, y7 := out[4*m:][:m], out[5*m:][:m], out[6*m:][:m], out[7*m:][:m]
	for i := range x0 {
		a, b := x0[i], x4[i]
		b0r, b0i := real(a)+real(b), imag(a)+imag(b)
		c0r, c0i := real(a)-real(b), imag(a)-imag(b)
		a, b = x2[i], x6[i]
		b2r, b2i := real(a)+real(b), imag(a)+imag(b)
		c2r, c2i := imag(a)-imag(b), real(b)-real(a)
		a, b = x1[i], x5[i]
		b1r, b1i := real(a)+real(b), imag(a)+imag(b)
		sr, si := real(a)-real(b), imag(a)-imag(b)
		c1r, c1i := sqrtHalf*(sr+si), sqrtHalf*(si-sr)
		a, b = x3[i], x7[i]
		b3r, b3i := real(a)+real(b), imag(a)+imag(b)
		sr, si = real(a)-real(b), imag(a)-imag(b)
		c3r, c3i := sqrtHalf*(si-sr), -sqrtHalf*(sr+si)

		d0r, d0i := b0r+b2r, b0i+b2i
		d1r, d1i := b0r-b2r, b0i-b2i
		d2r, d2i := b1r+b3r, b1i+b3i
		d3r, d3i := b1i-b3i, b3r-b1r
		y0[i], y4[i] = complex(d0r+d2r, d0i+d2i), complex(d0r-d2r, d0i-d2i)
		y2[i], y6[i] = complex(d1r+d3r, d1i+d3i), complex(d1r-d3r, d1i-d3i)
		d0r, d0i = c0r+c2r, c0i+c2i
		d1r, d1i = c0r-c2r, c0i-c2i
		d2r, d2i = c1r+c3r, c1i+c3i
		d3r, d3i = c1i-c3i, c3r-c1r
		y1[i], y5[i] = complex(d0r+d2r, d0i+d2i), complex(d0r-d2r, d0i-d2i)
		y3[i], y7[i] = complex(d1r+d3r, d1i+d3i), complex(d1r-d3r, d1i-d3i)
	}
}

// last4 is a last stage of radix 4.
func last4(out, in []complex64) {
	m := len(in) / 4
	x0, x1, x2, x3 := in[:m], in[m:][:m], in[2*m:][:m], in[3*m:][:m]
	y0, y1, y2, y3 := out[:m], out[m:][:m], out[2*m:][:m], out[3*m:][:m]
	for i := range x0 {
		s, d := x0[i]+x2[i], x0[i]-x2[i]
		u, v := x1[i]+x3[i], x1[i]-x3[i]
		y0[i], y2[i] = s+u, s-u
		y1[i] = complex(real(d)+imag(v), imag(d)-real(v))
		y3[i] = complex(real(d)-imag(v), imag(d)+real(v))
	}
}

// last2 is a last stage of radix 2.
func last2(out, in []complex64) {
	m := len(in) / 2
	x0, x1 := in[:m], in[m:][:m]
	y0, y1 := out[:m], out[m:][:m]
	for i := range x0 {
		y0[i], y1[i] = x0[i]+x1[i], x0[i]-x1[i]
	}
}
