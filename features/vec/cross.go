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
