package printcheck

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Harmonic residue: how much of what the linear fit leaves is a square and a cube of the fit, by least squares on
// {1, u, u^2, u^3, u p}, where p is the mean square of the last 30 ms. The last term takes the work of a compressor, which
// otherwise looks like a cube. For y = u + c2 u^2 + c3 u^3 and a sine of peak A the harmonics are HD2 = c2 A / 2 and
// HD3 = c3 A^2 / 4 of the fundamental (closed form, to first order).
const regressors = 5

// moments are the sums of the products: upper triangle of regressors, then regressor times rest; and the energy of the rest.
type moments struct {
	xx   [regressors][regressors]float64
	xe   [regressors]float64
	ee   float64
	uu   float64
	n    float64
	loud float64 // highest mean square of 43 ms
}

type polynomial struct {
	moments
	decay float64
	p     float64 // running mean square
	frame int
}

func newPolynomial(rate int) polynomial {
	return polynomial{decay: 1 / (0.030 * float64(rate)), frame: curveFrame * scaleOf(rate)}
}

func (p *polynomial) reset() { *p = polynomial{decay: p.decay, frame: p.frame} }

// write takes every other sample: neighbours say nearly the same.
func (p *polynomial) write(u, e [2][]float32) {
	const every = 2
	var m [15]float64
	var b [5]float64
	var ee float64
	count := 0.0
	energy := p.p
	decay := every * p.decay
	l, r := u[0], u[1]
	for i := 0; i < len(l); i += every {
		ul, ur := float64(l[i]), float64(r[i])
		energy += decay * ((ul*ul+ur*ur)/2 - energy)
		for c := range 2 {
			v, d := ul, float64(e[0][i])
			if c == 1 {
				v, d = ur, float64(e[1][i])
			}
			v2 := v * v
			v3, vp := v2*v, v*energy
			m[0] += v
			m[1] += v2
			m[2] += v3
			m[3] += vp
			m[4] += v2 * v2
			m[5] += v2 * energy
			m[6] += v3 * v2
			m[7] += v2 * vp
			m[8] += v3 * v3
			m[9] += v3 * vp
			m[10] += vp * vp
			b[0] += d
			b[1] += d * v
			b[2] += d * v2
			b[3] += d * v3
			b[4] += d * vp
			ee += d * d
		}
		count += 2
	}
	p.p = energy
	// Order: 1, u, u2, u3, up.
	s := [regressors][regressors]float64{
		{count, m[0], m[1], m[2], m[3]},
		{0, m[1], m[2], m[4], m[5]},
		{0, 0, m[4], m[6], m[7]},
		{0, 0, 0, m[8], m[9]},
		{0, 0, 0, 0, m[10]},
	}
	for i := range regressors {
		for j := i; j < regressors; j++ {
			p.xx[i][j] += s[i][j]
		}
		p.xe[i] += b[i]
	}
	p.ee += ee
	p.uu += m[1]
	p.n += count
	for at := 0; at+p.frame <= len(l); at += p.frame {
		var sum float64
		for i := at; i < at+p.frame; i += every {
			sum += float64(l[i])*float64(l[i]) + float64(r[i])*float64(r[i])
		}
		p.loud = max(p.loud, sum/float64(p.frame))
	}
}

func (m *moments) add(o *moments, sign float64) {
	for i := range regressors {
		for j := range regressors {
			m.xx[i][j] += sign * o.xx[i][j]
		}
		m.xe[i] += sign * o.xe[i]
	}
	m.ee += sign * o.ee
	m.uu += sign * o.uu
	m.n += sign * o.n
	m.loud = max(m.loud, o.loud)
}

// coefficients solves for the five; ok is false without enough sound.
func (m *moments) coefficients() (c [regressors]float64, ok bool) {
	if m.uu == 0 || m.n == 0 {
		return c, false
	}
	// Scale so that the matrix is well-conditioned whatever the level.
	s := math.Sqrt(m.uu / m.n)
	scale := [regressors]float64{1, s, s * s, s * s * s, s * s * s}
	a := mat.NewSymDense(regressors, nil)
	b := mat.NewVecDense(regressors, nil)
	for i := range regressors {
		for j := i; j < regressors; j++ {
			v := m.xx[i][j] / (scale[i] * scale[j] * m.n)
			if i == j {
				v *= 1 + 1e-9
			}
			a.SetSym(i, j, v)
		}
		b.SetVec(i, m.xe[i]/(scale[i]*m.n))
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return c, false
	}
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, b); err != nil {
		return c, false
	}
	for i := range c {
		c[i] = x.AtVec(i) / scale[i]
	}
	return c, true
}

// explained is the share of the rest's energy that the five terms account for.
func (m *moments) explained() float64 {
	c, ok := m.coefficients()
	if !ok || m.ee == 0 {
		return 0
	}
	var sum float64
	for i, v := range c {
		sum += v * m.xe[i]
	}
	return sum / m.ee
}

// Harmonics is the non-linear part that squares and cubes explain.
type Harmonics struct {
	SecondPercent   float64 `json:"second_percent"` // of a sine at AtDBFS
	SecondCIPercent float64 `json:"second_ci_percent"`
	ThirdPercent    float64 `json:"third_percent"`
	ThirdCIPercent  float64 `json:"third_ci_percent"`
	AtDBFS          float64 `json:"at_dbfs"` // peak of that sine, at the print's level
}

// harmonicsOf reads the coefficients of the whole, and their spread from leaving out one stretch at a time.
func harmonicsOf(all []heard) *Harmonics {
	var total moments
	for _, h := range all {
		total.add(&h.poly, 1)
	}
	c, ok := total.coefficients()
	if !ok {
		return nil
	}
	peak := math.Sqrt(2 * total.loud)
	second := func(c [regressors]float64) float64 { return 100 * c[2] * peak / 2 }
	third := func(c [regressors]float64) float64 { return 100 * c[3] * peak * peak / 4 }
	var two, three []float64
	for _, h := range all {
		part := total
		part.add(&h.poly, -1)
		if c, ok := part.coefficients(); ok && h.poly.n > 0 {
			two, three = append(two, second(c)), append(three, third(c))
		}
	}
	return &Harmonics{
		SecondPercent: math.Abs(second(c)), ThirdPercent: math.Abs(third(c)), AtDBFS: 20 * math.Log10(peak),
		SecondCIPercent: jackknifeCI(two), ThirdCIPercent: jackknifeCI(three),
	}
}
