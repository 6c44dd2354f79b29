package loudness

//go:generate go run ./gen -out kernels_amd64.s -stubs kernels_amd64.go -pkg loudness

// A recursive filter has to wait for its own output of the sample before. The vector kernel gets around that: it cuts a
// hop into four stretches and filters them side by side, the last three as if silence had gone before. Filters are
// linear, so what the state at the beginning of a stretch adds to its output is known beforehand, the response to each
// of the four numbers of the state, and so is what it adds to the sum of squares:
//
//	sum (y + s h)^2 = sum y^2 + 2 s sum y h + s s sum h h
//
// with y the output from silence, s the state and h the responses, summed over the four numbers where they appear twice.

const (
	lanesAtOnce = 4
	numbers     = 4 // of the state: w1 w2 v1 v2
)

// kTable holds the responses of a K-weighting filter without input over one stretch.
type kTable struct {
	length    int                       // of a stretch, samples; a multiple of 2, 0 for hops too short for stretches
	responses []float64                 // length x numbers: output for each number of the state being 1
	products  [numbers][numbers]float64 // sums of the responses' products
	ends      [numbers][numbers]float64 // state at the end, for each number of the state
}

func newKTable(f kFilter, hop int) *kTable {
	t := &kTable{length: hop / (2 * lanesAtOnce) * 2}
	t.responses = make([]float64, numbers*t.length)
	for j := range numbers {
		f.x1, f.d1 = 0, 0
		var one [numbers]float64
		one[j] = 1
		f.setState(one)
		for i := range t.length {
			f.sumSquares([]float32{0})
			t.responses[numbers*i+j] = f.v1
		}
		t.ends[j] = f.state()
	}
	for j := range numbers {
		for k := range numbers {
			for i := range t.length {
				t.products[j][k] += t.responses[numbers*i+j] * t.responses[numbers*i+k]
			}
		}
	}
	return t
}

func (f *kFilter) state() [numbers]float64 { return [numbers]float64{f.w1, f.w2, f.v1, f.v2} }

func (f *kFilter) setState(s [numbers]float64) { f.w1, f.w2, f.v1, f.v2 = s[0], s[1], s[2], s[3] }

// lanes is the memory of the kernel: rows of one number for each of the four stretches.
type lanes struct {
	a1, a2, c1, c2, g1, g2 [lanesAtOnce]float64
	x1, d1                 [lanesAtOnce]float64
	state                  [numbers][lanesAtOnce]float64
	sum                    [lanesAtOnce]float64
	cross                  [numbers][lanesAtOnce]float64 // sums of output times response
}

// begin sets the lanes up for the filter and for x, of which the first stretch starts as the filter stands.
func (l *lanes) begin(f *kFilter, x []float32, length int) {
	for i := range lanesAtOnce {
		l.a1[i], l.a2[i], l.c1[i], l.c2[i], l.g1[i], l.g2[i] = f.a1, f.a2, f.c1, f.c2, f.g1, f.g2
		if i > 0 {
			last, before := float64(x[i*length-1]), float64(x[i*length-2])
			l.x1[i], l.d1[i] = last, last-before
		}
	}
	l.x1[0], l.d1[0] = f.x1, f.d1
	for j, v := range f.state() {
		l.state[j][0] = v
	}
}

// end joins the stretches: it adds their sums of squares to the filter's and leaves the filter as it stands after x.
func (l *lanes) end(f *kFilter, t *kTable) {
	var s [numbers]float64
	for j := range s {
		s[j] = l.state[j][0]
	}
	f.sum += l.sum[0]
	for i := 1; i < lanesAtOnce; i++ {
		sum := l.sum[i]
		next := [numbers]float64{}
		for j := range s {
			sum += 2 * s[j] * l.cross[j][i]
			next[j] += l.state[j][i]
			for k := range s {
				sum += s[j] * s[k] * t.products[j][k]
				next[k] += s[j] * t.ends[j][k]
			}
		}
		f.sum += max(sum, 0) // rounding
		s = next
	}
	f.setState(s)
	f.x1, f.d1 = l.x1[lanesAtOnce-1], l.d1[lanesAtOnce-1]
}
