package printcheck

import (
	"context"
	"math"
	"math/cmplx"
	"slices"

	"golang.org/x/sync/errgroup"
)

// Refining: the anchors again, now by phase. Each anchor's cross-spectrum is turned against the common one, so what the
// chain does to phase (equalizers, transformers, converters) is common to all and drops out; what is left is how much
// later or earlier this anchor is than the others. So the speed comes out right to a small part of a ppm whatever the
// chain does. How late the print is on the whole is read from the common phase afterwards (delay.go).
const (
	groups      = 64 // of lines in which cross-spectra are averaged
	groupLowHz  = 100.0
	groupHighHz = 12000.0
)

// tie says which side of the print holds which side of the mix, and with which polarity.
type tie struct {
	swapped bool
	sign    [2]float64 // of the mix's left and right side in the print
	gain    [2]float64 // magnitude of the whitened gains, to tell a dead side
	certain bool       // the mix has enough side to tell left from right
}

// other is the side of the print that holds side c of the mix.
func (t tie) other(c int) int {
	if t.swapped {
		return 1 - c
	}
	return c
}

// tieOf reads the sides from the covariances of all anchors that were found.
func tieOf(all []anchor) tie {
	var mm [3]float64
	var pm [4]float64
	for _, a := range all {
		if !a.found() {
			continue
		}
		total := a.mm[0] + a.mm[2]
		if total <= 0 {
			continue
		}
		for i := range mm {
			mm[i] += a.mm[i] / total
		}
		for i := range pm {
			pm[i] += a.pm[i] / total
		}
	}
	ridge := 1e-3 * (mm[0] + mm[2])
	a, b, d := mm[0]+ridge, mm[1], mm[2]+ridge
	det := a*d - b*b
	// gain[j][i] = print side j from mix side i = pm * inverse(mm)
	gain := func(j, i int) float64 {
		l, r := pm[2*j], pm[2*j+1]
		if i == 0 {
			return (l*d - r*b) / det
		}
		return (r*a - l*b) / det
	}
	straight := math.Abs(gain(0, 0)) + math.Abs(gain(1, 1))
	across := math.Abs(gain(0, 1)) + math.Abs(gain(1, 0))
	t := tie{certain: det > 4e-3*(a+d)*(a+d)/4}
	t.swapped = t.certain && across > 1.2*straight
	for c := range t.sign {
		g := gain(t.other(c), c)
		if !t.certain {
			g = pm[2*t.other(c)+c]
		}
		t.gain[c] = math.Abs(g)
		t.sign[c] = 1
		if g < 0 {
			t.sign[c] = -1
		}
	}
	return t
}

// phases of one anchor: the whitened cross-spectrum in groups of lines.
type phases [groups]complex128

// refine measures the found anchors again along the segments they lie in, and settles speed and places.
func (t *tracker) refine(ctx context.Context, c *course, k tie) error {
	type job struct {
		start int64
		seg   int
	}
	var jobs []job
	for _, a := range c.anchors {
		if !a.found() {
			continue
		}
		for i, s := range c.segments {
			start := int64(a.mix) - int64(t.block)/2
			if start >= s.from && start+int64(t.block) <= s.to {
				jobs = append(jobs, job{start, i})
				break
			}
		}
	}
	if len(jobs) == 0 {
		return nil
	}
	const most = 200
	if len(jobs) > most {
		kept := make([]job, most)
		for i := range kept {
			kept[i] = jobs[i*len(jobs)/most]
		}
		jobs = kept
	}
	found := make([]phases, len(jobs))
	group, ctx := errgroup.WithContext(ctx)
	const workers = 2
	for w := range workers {
		group.Go(func() error {
			p, err := openPair(t.mix, t.print, t.kernel)
			if err != nil {
				return err
			}
			defer p.close() //nolint:errcheck // opened for reading
			m := newPhaseMeter(p, k)
			for i := w; i < len(jobs); i += workers {
				if err := ctx.Err(); err != nil {
					return err
				}
				if found[i], err = m.measure(jobs[i].start, c.line(c.segments[jobs[i].seg])); err != nil {
					return err
				}
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	lates := relative(found, groupOmega())
	bySegment := make([][]anchor, len(c.segments))
	for i, j := range jobs {
		if math.IsNaN(lates[i]) {
			continue
		}
		// Phases are in radians a Hz of the mix's clock.
		late := lates[i] * float64(t.mixRate)
		bySegment[j.seg] = append(bySegment[j.seg], anchor{mix: float64(j.start) + float64(t.block)/2, late: late})
	}
	var kept []segment
	var lists [][]anchor
	for i, s := range c.segments {
		if len(bySegment[i]) > 0 {
			kept, lists = append(kept, s), append(lists, bySegment[i])
		}
	}
	if len(kept) == 0 {
		return nil
	}
	slope, late := regress(lists)
	for i := range kept {
		kept[i].offset += late[i] * c.step
	}
	c.step *= 1 + slope
	c.segments = kept
	t.snap(c, lists, slope, late)
	return nil
}

// snap takes a speed that cannot be told from none as none, and then reads whole frames. Within one interface out and in
// share a clock, so none is the usual case.
func (t *tracker) snap(c *course, lists [][]anchor, slope float64, late []float64) {
	if t.mixRate != t.printRate {
		return
	}
	var n, square, first, last float64
	first = math.Inf(1)
	for i, g := range lists {
		for _, a := range g {
			d := a.late - late[i] - slope*a.mix
			square += d * d
			n++
			first, last = min(first, a.mix), max(last, a.mix)
		}
	}
	length := max(last-first, float64(t.block))
	// Error of a slope from n places of this scatter, spread evenly over the length.
	sigma := math.Sqrt(square/max(n-2, 1)) / (length * math.Sqrt(max(n, 1)/12))
	drift := math.Abs(c.step - 1)
	if drift > max(3*sigma, 0.01/length) || drift*length > 0.5 {
		return
	}
	// Pivot at the middle, so that the places stay where they were measured.
	base := math.Inf(1)
	for i, s := range c.segments {
		middle := float64(s.from+s.to) / 2
		c.segments[i].offset = s.offset + middle*(c.step-1)
		base = min(base, c.segments[i].offset)
	}
	c.step = 1
	whole := math.Round(base)
	for i, s := range c.segments { // the part of a frame is common to all: edits move by whole frames
		c.segments[i].offset = whole + math.Round(s.offset-base)
	}
}

// phaseMeter measures cross-spectra by groups.
type phaseMeter struct {
	*finder
	tie    tie
	window []float32
}

func newPhaseMeter(p *pairReader, k tie) *phaseMeter {
	m := &phaseMeter{finder: newFinder(p), tie: k}
	m.window = make([]float32, m.size)
	for i := range m.blockFrame {
		s := math.Sin(math.Pi * (float64(i) + 0.5) / float64(m.blockFrame))
		m.window[i] = float32(s * s)
	}
	return m
}

// groupHz is the middle of a group.
func groupHz(g int) float64 {
	return groupLowHz + (float64(g)+0.5)*(groupHighHz-groupLowHz)/groups
}

// groupOmega lists the groups' angular frequencies in radians a second.
func groupOmega() []float64 {
	all := make([]float64, groups)
	for g := range all {
		all[g] = 2 * math.Pi * groupHz(g)
	}
	return all
}

func (m *phaseMeter) measure(start int64, l line) (phases, error) {
	var out phases
	n := m.blockFrame
	whole := l
	if math.Abs(l.step-1)*float64(n) < 0.02 {
		whole = line{offset: math.Round(l.at(float64(start)+float64(n)/2)) - float64(start) - float64(n/2), step: 1}
	}
	for c := range m.x {
		clear(m.x[c])
		clear(m.y[c])
	}
	if err := m.readMix(start, [2][]float32{m.x[0][:n], m.x[1][:n]}); err != nil {
		return out, err
	}
	if err := m.readPrint(start, whole, [2][]float32{m.y[0][:n], m.y[1][:n]}); err != nil {
		return out, err
	}
	m.t.Transform(m.x[0], m.x[1], m.window)
	split(m.t, m.mx)
	m.t.Transform(m.y[0], m.y[1], m.window)
	split(m.t, m.my)
	m.weigh()
	hz := float64(m.mix.rate) / float64(m.size)
	middle := float64(start) + float64(n)/2
	undo := 2 * math.Pi * (whole.at(middle) - l.at(middle)) / l.step / float64(m.mix.rate) // seconds turned back below
	for k := m.low; k < m.high; k++ {
		w := m.weights[k-m.low]
		g := int((float64(k)*hz - groupLowHz) / (groupHighHz - groupLowHz) * groups)
		if w == 0 || float64(k)*hz < groupLowHz || g >= groups {
			continue
		}
		var sum complex128
		for c := range m.mx {
			x, y := m.mx[c], m.my[m.tie.other(c)]
			re := float64(x.re[k]*y.re[k] + x.im[k]*y.im[k])
			im := float64(x.re[k]*y.im[k] - x.im[k]*y.re[k])
			sum += complex(m.tie.sign[c]*re, m.tie.sign[c]*im)
		}
		out[g] += complex(w, 0) * sum
	}
	if undo != 0 {
		for g := range out {
			out[g] *= cmplx.Exp(complex(0, -undo*groupHz(g)))
		}
	}
	return out, nil
}

// relative returns for each anchor how much later it is than the common phase says, in seconds; NaN where the anchor
// holds nothing.
func relative(all []phases, omega []float64) []float64 {
	late := make([]float64, len(all))
	for range 6 {
		var common phases
		for i, p := range all {
			norm := size(p)
			if norm == 0 {
				continue
			}
			for g, v := range p {
				common[g] += v / complex(norm, 0) * cmplx.Exp(complex(0, omega[g]*late[i]))
			}
		}
		for i, p := range all {
			late[i] += step(p, common, omega, late[i])
		}
		// Only differences mean anything here: the middle anchor is on time.
		sorted := slices.DeleteFunc(slices.Clone(late), math.IsNaN)
		if len(sorted) == 0 {
			return late
		}
		slices.Sort(sorted)
		for i := range late {
			late[i] -= sorted[len(sorted)/2]
		}
	}
	return late
}

func size(p phases) (sum float64) {
	for _, v := range p {
		sum += cmplx.Abs(v)
	}
	return sum
}

// step is the least-squares delay left between an anchor, taken back by late, and the common phase.
func step(p, common phases, omega []float64, late float64) float64 {
	var above, below float64
	for g, v := range p {
		d := v * cmplx.Conj(common[g]) * cmplx.Exp(complex(0, omega[g]*late))
		if d == 0 {
			continue
		}
		w := math.Sqrt(cmplx.Abs(d))
		above -= w * omega[g] * cmplx.Phase(d)
		below += w * omega[g] * omega[g]
	}
	if below == 0 {
		return math.NaN()
	}
	return above / below
}
