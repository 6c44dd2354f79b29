package printcheck

import (
	"context"
	"math"
	"math/cmplx"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/dsp/fourier"
)

// The best linear fit: the filters that turn the mix's two sides into each side of the print with the least error
// (Wiener). The normal equations are block-Toeplitz, symmetric but for what the ends of stretches do; they are solved by
// BiCGSTAB (van der Vorst 1992) with a circulant preconditioner (Chan 1988), every product through the FFT. A little white
// noise is added on the diagonal, 100 dB below the mix, so the fit is steady where the mix is silent: there it keeps what it starts from, the smooth response of response.go.
const (
	ridgeDB    = -100.0
	iterations = 40
	enough     = 1e-7 // of the right-hand side's norm
)

// filters holds, by print side and mix side, the impulse response; sample lead of it is the present.
type filters [2][2][]float64

// solve fits the print from the correlations of one half of the song, gathered with transforms of the given size.
// start is the impulse response from each side to itself that the search starts from.
func solve(ctx context.Context, c *correlations, size int, start []float64) (filters, error) {
	taps := len(start)
	var xx, xy [2][2][]float64
	inverse := fourier.NewFFT(size)
	lags := func(s []complex128, n int) []float64 {
		// gonum's inverse is not scaled.
		out := inverse.Sequence(nil, s)[:n]
		for i := range out {
			out[i] /= float64(size)
		}
		return out
	}
	for a := range 2 {
		for b := range 2 {
			xx[a][b], xy[a][b] = lags(c.xx[a][b], 2*taps), lags(c.xy[a][b], taps)
		}
	}
	var f filters
	group, ctx := errgroup.WithContext(ctx)
	for j := range 2 {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			m := newToeplitz(xx, taps)
			from := [2][]float64{make([]float64, taps), make([]float64, taps)}
			copy(from[j], start)
			have := [2][]float64{make([]float64, taps), make([]float64, taps)}
			m.apply(have, from, m.t, &m.matrix)
			rhs := [2][]float64{xy[0][j], xy[1][j]}
			for a := range 2 {
				for i := range rhs[a] {
					rhs[a][i] += m.ridge*from[a][i] - have[a][i] // the ridge draws towards the start
				}
			}
			f[j] = m.solve(rhs)
			for a := range 2 {
				for i := range from[a] {
					f[j][a][i] += from[a][i]
				}
			}
			return nil
		})
	}
	return f, group.Wait()
}

// toeplitz is the matrix of the normal equations.
type toeplitz struct {
	taps   int
	ridge  float64
	t, u   *fourier.CmplxFFT
	matrix [2][2][]complex128 // circulant of twice the taps that holds it
	condit [2][2][]complex128 // inverse of the circulant nearest to it
	work   []complex128
	spec   [2][]complex128
}

// newToeplitz makes the matrix from correlations xx[a][b] of side a with side b at lags -taps..taps-1.
func newToeplitz(xx [2][2][]float64, taps int) *toeplitz {
	m := &toeplitz{taps: taps, t: fourier.NewCmplxFFT(2 * taps), u: fourier.NewCmplxFFT(taps)}
	m.ridge = math.Pow(10, ridgeDB/10) * (xx[0][0][taps] + xx[1][1][taps]) / 2
	for a := range 2 {
		for b := range 2 {
			wide, near := make([]complex128, 2*taps), make([]complex128, taps)
			for i := range taps {
				wide[i] = complex(xx[a][b][taps+i], 0)
				share := float64(i) / float64(taps)
				near[i] += complex((1-share)*xx[a][b][taps+i], 0)
				if i > 0 {
					wide[2*taps-i] = complex(xx[a][b][taps-i], 0)
					near[taps-i] += complex((1-share)*xx[a][b][taps-i], 0)
				}
			}
			if a == b {
				wide[0] += complex(m.ridge, 0)
				near[0] += complex(m.ridge, 0)
			}
			m.matrix[a][b] = m.t.Coefficients(nil, wide)
			m.condit[a][b] = m.u.Coefficients(nil, near)
		}
	}
	for k := range taps { // invert the 2 x 2 matrix of each line
		a, b, c, d := m.condit[0][0][k], m.condit[0][1][k], m.condit[1][0][k], m.condit[1][1][k]
		floor := complex(1e-6*math.Max(cmplx.Abs(a), cmplx.Abs(d))+m.ridge, 0)
		a, d = a+floor, d+floor
		det := a*d - b*c
		if cmplx.Abs(det) == 0 {
			det = 1
		}
		m.condit[0][0][k], m.condit[0][1][k], m.condit[1][0][k], m.condit[1][1][k] = d/det, -b/det, -c/det, a/det
	}
	m.work = make([]complex128, 2*taps)
	m.spec = [2][]complex128{make([]complex128, 2*taps), make([]complex128, 2*taps)}
	return m
}

// apply sets out to a circulant of 2 x 2 blocks, given by its spectra, times in. Both real sides travel in one transform.
func (m *toeplitz) apply(out, in [2][]float64, t *fourier.CmplxFFT, s *[2][2][]complex128) {
	n := len(s[0][0])
	z := m.work[:n]
	clear(z)
	for i := range in[0] {
		z[i] = complex(in[0][i], in[1][i])
	}
	t.Coefficients(z, z)
	a, b := m.spec[0][:n], m.spec[1][:n]
	for k := range z {
		v, w := z[k], cmplx.Conj(z[(n-k)%n])
		a[k], b[k] = (v+w)/2, (v-w)*complex(0, -0.5)
	}
	for k := range z {
		p := times(s[0][0][k], a[k]) + times(s[0][1][k], b[k])
		q := times(s[1][0][k], a[k]) + times(s[1][1][k], b[k])
		z[k] = p + complex(-imag(q), real(q))
	}
	t.Sequence(z, z)
	for i := range out[0] {
		out[0][i], out[1][i] = real(z[i])/float64(n), imag(z[i])/float64(n)
	}
}

// solve runs BiCGSTAB on the right-hand side.
func (m *toeplitz) solve(rhs [2][]float64) [2][]float64 {
	pair := func() [2][]float64 { return [2][]float64{make([]float64, m.taps), make([]float64, m.taps)} }
	x, r, shadow, p, v, s, t, ph, sh := pair(), pair(), pair(), pair(), pair(), pair(), pair(), pair(), pair()
	for a := range 2 {
		copy(r[a], rhs[a])
		copy(shadow[a], rhs[a])
	}
	norm := dot(rhs, rhs)
	if norm == 0 {
		return x
	}
	rho, alpha, omega := 1.0, 1.0, 1.0
	for n := range iterations {
		next := dot(shadow, r)
		if next == 0 || omega == 0 {
			break
		}
		beta := next / rho * alpha / omega
		rho = next
		for a := range 2 {
			for i := range p[a] {
				if n == 0 {
					p[a][i] = r[a][i]
				} else {
					p[a][i] = r[a][i] + beta*(p[a][i]-omega*v[a][i])
				}
			}
		}
		m.apply(ph, p, m.u, &m.condit)
		m.apply(v, ph, m.t, &m.matrix)
		sv := dot(shadow, v)
		if sv == 0 {
			break
		}
		alpha = rho / sv
		for a := range 2 {
			for i := range s[a] {
				s[a][i] = r[a][i] - alpha*v[a][i]
			}
		}
		m.apply(sh, s, m.u, &m.condit)
		m.apply(t, sh, m.t, &m.matrix)
		tt := dot(t, t)
		if tt == 0 {
			omega = 0
		} else {
			omega = dot(t, s) / tt
		}
		for a := range 2 {
			for i := range x[a] {
				x[a][i] += alpha*ph[a][i] + omega*sh[a][i]
				r[a][i] = s[a][i] - omega*t[a][i]
			}
		}
		if dot(r, r) < norm*enough*enough {
			break
		}
	}
	return x
}

func dot(a, b [2][]float64) (sum float64) {
	for c := range 2 {
		for i, v := range a[c] {
			sum += v * b[c][i]
		}
	}
	return sum
}
