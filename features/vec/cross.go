package vec

const (
	// CrossColumns is the number of bins side by side in a row of Cross.
	CrossColumns = 16
	// CrossRow is the length of such a row: real parts, imaginary parts, powers.
	CrossRow = 3 * CrossColumns
)

// Cross adds to dst, one row, the sums over the rows of y conj(x), real and imaginary, and of the product of the powers.
// x and y are whole rows of CrossRow values each, as many as x has.
func Cross(dst, x, y []float32) {
	x = x[:len(x)/CrossRow*CrossRow]
	dst, y = dst[:CrossRow], y[:len(x)]
	if n := crossHead(dst, x, y); n < len(x) {
		crossRows(dst, x[n:], y[n:])
	}
}

func crossRows(dst, x, y []float32) {
	var re, im, power [CrossColumns]float32
	for ; len(x) >= CrossRow && len(y) >= CrossRow; x, y = x[CrossRow:], y[CrossRow:] {
		u, v := (*[CrossRow]float32)(x), (*[CrossRow]float32)(y)
		for k := range re {
			a, b, c, d := u[k], u[k+CrossColumns], v[k], v[k+CrossColumns]
			re[k] += a*c + b*d
			im[k] += a*d - b*c
			power[k] += u[k+2*CrossColumns] * v[k+2*CrossColumns]
		}
	}
	for k := range re {
		dst[k] += re[k]
		dst[k+CrossColumns] += im[k]
		dst[k+2*CrossColumns] += power[k]
	}
}

// CrossPlanes adds to dst, element by element, y conj(x). Each slice holds the real parts of all numbers and then their imaginary
// parts, all of one length.
func CrossPlanes(dst, x, y []float32) {
	x, y = x[:len(dst)], y[:len(dst)]
	half := len(dst) / 2
	n := crossPlanesHead(dst, x, y, half)
	crossPlanes(dst[n:half], dst[half+n:], x[n:half], x[half+n:], y[n:half], y[half+n:])
}

func crossPlanes(re, im, xRe, xIm, yRe, yIm []float32) {
	for k, a := range xRe {
		b, c, d := xIm[k], yRe[k], yIm[k]
		re[k] += c*a + d*b
		im[k] += d*a - c*b
	}
}

// CrossLags is the number of rows that CrossLagged fills: one for each of as many lags, one after another.
const CrossLags = 3

// CrossLagged is Cross for several lags at once: it adds to row l of dst what Cross adds for x and the rows of y from the one with
// number l on. y has CrossLags-1 rows more than x.
func CrossLagged(dst, x, y []float32) {
	x = x[:len(x)/CrossRow*CrossRow]
	dst, y = dst[:CrossLags*CrossRow], y[:len(x)+(CrossLags-1)*CrossRow]
	if len(x) > 0 && !crossLagged(dst, x, y) {
		for l := range CrossLags {
			crossRows(dst[l*CrossRow:], x, y[l*CrossRow:])
		}
	}
}

// Spectrum is a frame's spectrum as it is, and where its rows go: that of the first CrossColumns bins to the start of Rows, those of
// each further block of bins Stride values later.
type Spectrum struct {
	Re, Im []float32
	Rows   []float32
	Stride int
}

// CrossRows makes rows for Cross of the spectra of two frames, multiplied by gain, and adds the power of both together to total, bin by
// bin. All have as many bins as total, a multiple of CrossColumns.
func CrossRows(total []float32, a, b Spectrum, gain float32) {
	n := len(total) / CrossColumns
	if n == 0 {
		return
	}
	a.check(n)
	b.check(n)
	if crossRowsMade(total, a, b, gain, n) {
		return
	}
	for i := range n {
		u, v := a.row(i, gain), b.row(i, gain)
		sum := total[i*CrossColumns:][:CrossColumns]
		for k := range sum {
			sum[k] += u[k] + v[k]
		}
	}
}

// check panics if the spectrum does not hold n blocks of bins.
func (s *Spectrum) check(n int) {
	_, _, _ = s.Re[:n*CrossColumns], s.Im[:n*CrossColumns], s.Rows[:(n-1)*s.Stride+CrossRow]
}

// row makes one row and returns its powers.
func (s *Spectrum) row(block int, gain float32) []float32 {
	re, im := s.Re[block*CrossColumns:][:CrossColumns], s.Im[block*CrossColumns:][:CrossColumns]
	row := s.Rows[block*s.Stride:][:CrossRow]
	u, v, p := row[:CrossColumns], row[CrossColumns:2*CrossColumns], row[2*CrossColumns:]
	for k := range re {
		u[k], v[k] = re[k]*gain, im[k]*gain
		p[k] = u[k]*u[k] + v[k]*v[k]
	}
	return p
}
