package printcheck

import (
	"math"
	"slices"

	"foldout/features/fft"
)

// Hum: steady lines at the mains frequency and its multiples in what the fit leaves, at about 3 kHz. Of each line the
// lowest quarter over time decides whether it is there, for music comes and goes and hum stays; its level is the median.
// A song that keeps notes there leaves lines in the rest as well, where the chain bends or squeezes it: of the note itself, and
// of the sums and differences of two. So a line counts only where neither the mix nor its square nor its cube holds one, or
// where it is nearly as loud.
const (
	humRate      = 3000.0
	humSize      = 8192 // 2.7 s
	humMost      = 160  // frames kept
	humHarmonics = 8
	humAboveDB   = 9.0   // above its neighbours: a line
	humUnderDB   = -10.0 // against a line of the mix, its square or cube at the same frequency: what is weaker may come of it
)

// Hum is the mains hum that the chain adds.
type Hum struct {
	Hz   float64 `json:"hz"` // 50 or 60
	DBFS float64 `json:"dbfs"`
}

type humMeter struct {
	t      *fft.FFT
	window []float32
	factor int
	rate   float64
	series [2][]float32
	sum    [2]float32
	count  int
	frames [][]float32
	mix    []*humMeter // of the fit, its square and its cube, in the same frames; none in those meters themselves
	power  [2][]float32
}

// newHumMeter makes a meter of what is left, which holds others of what the chain can make of the mix.
func newHumMeter(rate int) *humMeter {
	h := newLineMeter(rate)
	h.mix = []*humMeter{newLineMeter(rate), newLineMeter(rate), newLineMeter(rate)}
	return h
}

func newLineMeter(rate int) *humMeter {
	h := &humMeter{t: fft.New(humSize), window: hann(humSize), factor: max(1, int(float64(rate)/humRate))}
	h.rate = float64(rate) / float64(h.factor)
	return h
}

func (h *humMeter) begin() {
	for _, m := range h.mix {
		m.begin()
	}
	h.series[0], h.series[1] = h.series[0][:0], h.series[1][:0]
	h.sum, h.count = [2]float32{}, 0
}

// writeBoth takes what is left and the fit.
func (h *humMeter) writeBoth(e, u [2][]float32) {
	h.write(e)
	for c := range u {
		h.power[c] = append(h.power[c][:0], u[c]...)
	}
	for i, m := range h.mix {
		if i > 0 {
			for c := range u {
				for k, v := range u[c] {
					h.power[c][k] *= v
				}
			}
		}
		m.write(h.power)
	}
}

func (h *humMeter) write(e [2][]float32) {
	for i, v := range e[0] {
		h.sum[0] += v
		h.sum[1] += e[1][i]
		if h.count++; h.count == h.factor {
			for c := range 2 {
				h.series[c] = append(h.series[c], h.sum[c]/float32(h.factor))
			}
			h.sum, h.count = [2]float32{}, 0
			if len(h.series[0]) == humSize {
				h.frame(humSize)
				for c := range 2 {
					h.series[c] = h.series[c][:copy(h.series[c], h.series[c][humSize/2:])]
				}
			}
		}
	}
}

// end takes a last frame from a stretch too short for a whole one.
func (h *humMeter) end() {
	for _, m := range h.mix {
		m.end()
	}
	if n := len(h.series[0]); len(h.frames) == 0 && n >= humSize/4 {
		h.frame(n)
	}
}

// frame adds the power spectrum of the first n values, both sides, as mean squares of lines.
func (h *humMeter) frame(n int) {
	if len(h.frames) >= humMost {
		return
	}
	window := h.window
	if n < humSize {
		window = append(hann(n), make([]float32, humSize-n)...)
		for c := range 2 {
			h.series[c] = append(h.series[c], make([]float32, humSize-n)...)
		}
	}
	var square float64
	for _, w := range window {
		square += float64(w) * float64(w)
	}
	power := make([]float32, humSize/2+1)
	h.t.Transform(h.series[0][:humSize], h.series[1][:humSize], window)
	h.t.Power(power, false)
	scale := float32(1 / (2 * humSize * square))
	kept := power[:int(1000*humSize/h.rate)]
	for k := range kept {
		kept[k] *= scale
	}
	h.frames = append(h.frames, slices.Clone(kept))
}

func (h *humMeter) add(o *humMeter) {
	h.frames = append(h.frames, o.frames...)
	for i, m := range h.mix {
		m.add(o.mix[i])
	}
}

// steady returns the lowest quarter and the middle of every line over time.
func (h *humMeter) steady() (floor, middle []float64) {
	floor, middle = make([]float64, len(h.frames[0])), make([]float64, len(h.frames[0]))
	column := make([]float32, len(h.frames))
	for k := range floor {
		for i, f := range h.frames {
			column[i] = f[k]
		}
		slices.Sort(column)
		floor[k], middle[k] = float64(column[len(column)/4]), float64(column[len(column)/2])
	}
	return floor, middle
}

// hum returns the stronger of the two, or nil.
func (h *humMeter) hum() *Hum {
	if len(h.frames) == 0 {
		return nil
	}
	floor, middle := h.steady()
	type lines struct{ floor, middle []float64 }
	var mix []lines
	for _, m := range h.mix {
		f, g := m.steady()
		mix = append(mix, lines{f, g})
	}
	made := func(p, hz float64) bool {
		return slices.ContainsFunc(mix, func(l lines) bool {
			own, sounds := h.line(l.floor, l.middle, hz)
			return sounds && p < own*math.Pow(10, humUnderDB/10)
		})
	}
	var best *Hum
	for _, base := range []float64{50, 60} {
		var power float64
		lines := 0
		for n := 1; n <= humHarmonics; n++ {
			p, ok := h.line(floor, middle, base*float64(n))
			if !ok || made(p, base*float64(n)) {
				continue
			}
			power += p
			if n <= 3 {
				lines++
			}
		}
		if lines == 0 {
			continue
		}
		if v := level(power); best == nil || v > best.DBFS {
			best = &Hum{Hz: base, DBFS: v}
		}
	}
	return best
}

// line is the power of a line at a frequency, if it stands out from its neighbours.
func (h *humMeter) line(floor, middle []float64, hz float64) (float64, bool) {
	at := hz * humSize / h.rate
	k := int(math.Round(at))
	const reach, gap, width = 2, 5, 14
	if k < width || k+width >= len(floor) {
		return 0, false
	}
	peak := 0.0
	top := 0
	for i := k - reach; i <= k+reach; i++ {
		if floor[i] > peak {
			peak, top = floor[i], i
		}
	}
	if math.Abs(float64(top)-at) > 1.5 { // a note near by, not the mains
		return 0, false
	}
	var around []float64
	for d := gap; d <= width; d++ {
		around = append(around, floor[k-d], floor[k+d])
	}
	slices.Sort(around)
	usual := around[len(around)/2]
	loudest := around[len(around)*3/4]
	if peak < usual*math.Pow(10, humAboveDB/10) || peak < 2*loudest {
		return 0, false
	}
	var sum float64
	for i := top - 2; i <= top+2; i++ {
		sum += middle[i]
	}
	droop := math.Sin(math.Pi*hz/h.rate) / (math.Pi * hz / h.rate) // of the mean over factor samples
	return sum / (droop * droop), true
}
