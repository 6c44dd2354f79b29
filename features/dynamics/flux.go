package dynamics

import "math"

// Rules for onsets on the spectral flux. Chosen by experiment on rendered multitracks.
const (
	fluxBands      = 52 // six an octave from 40 Hz
	fluxLowestHz   = 40.0
	fluxPerOctave  = 6.0
	fluxFloor      = 1e-6 // bands below this part of the loudest frame's power so far do not count
	fluxLeast      = 1e-30
	fluxPast       = 8    // frames to average
	fluxCap        = 1.0  // so that one hit does not hide the next
	fluxBelow      = 1e-4 // frames 40 dB below the loudest so far have no onsets
	fluxAbsolute   = 1e-7 // nor have frames below -70 dBFS
	fluxStays      = 0.35 // where the power falls by more, a note has ended: its end is wide-band too
	decibelsPerLog = 3.0103
)

// flux is the spectral flux of Boeck and Widmer 2013 on the frames given: the power is summed into bands, the logarithm
// taken, and each band compared with the loudest of the same band and its two neighbours one frame earlier, so that
// vibrato and slides do not count; what is left of the rises is averaged over the bands, in dB.
//
// A frame is a peak when its flux is larger than the frame's before and not smaller than the frame's after, lies fluxAlone
// above the mean of the fluxPast frames before, the frame before it is none, and the sound goes on after it.
type flux struct {
	edges  [fluxBands + 1]int
	bands  int
	before [fluxBands]float32 // log2 of the band powers of the last frame
	now    [fluxBands]float32
	top    float32
	past   [fluxPast + 2]float32 // ring of flux
	frames int64
	power  [3]float32 // of the last three frames, the last first
	onset  int64      // last frame with an onset
}

func (f *flux) plan(bins int, binHz float64) {
	f.bands = 0
	last := max(int(math.Round(fluxLowestHz/binHz)), 1)
	for b := 0; b < fluxBands && last < bins; b++ {
		f.edges[f.bands] = last
		hz := fluxLowestHz * math.Exp2(float64(b+1)/fluxPerOctave)
		last = min(max(int(math.Round(hz/binHz)), last+1), bins)
		f.bands++
		f.edges[f.bands] = last
	}
	f.onset = -2
	for b := range f.before {
		f.before[b], f.now[b] = log2(fluxLeast), log2(fluxLeast)
	}
}

// frame takes the next spectrum. From the second one on it tells, of the frame before, by how much the flux lies above
// its past and whether it is a peak.
func (f *flux) frame(power []float32) (excess float32, peak bool) {
	f.before, f.now = f.now, f.before
	total := float32(0)
	for b := range f.bands {
		f.now[b] = sum32(power[f.edges[b]:f.edges[b+1]])
		total += f.now[b]
	}
	f.top = max(f.top, total)
	floor := max(f.top*fluxFloor, fluxLeast)
	for b := range f.bands {
		f.now[b] = log2(f.now[b] + floor)
	}
	f.past[f.frames%int64(len(f.past))] = f.rise(log2(floor))
	f.frames++
	heard := max(f.power[0], total) > max(fluxAbsolute, f.top*fluxBelow) && total > f.power[1]*fluxStays
	f.power = [3]float32{total, f.power[0], f.power[1]}
	excess = f.excess(f.frames - 2)
	return excess, heard && f.pick(f.frames-2, excess)
}

// last tells the same of the last frame, as if silence followed.
func (f *flux) last() (excess float32, peak bool) {
	t := f.frames - 1
	f.past[f.frames%int64(len(f.past))] = 0
	excess = f.excess(t)
	return excess, f.power[0] > max(fluxAbsolute, f.top*fluxBelow) && f.pick(t, excess)
}

func (f *flux) rise(lowest float32) float32 {
	sum := float32(0)
	left := lowest
	for b := range f.bands {
		ref := max(lowest, left, f.before[b])
		if b+1 < f.bands {
			ref = max(ref, f.before[b+1])
		}
		left = f.before[b]
		if d := f.now[b] - ref; d > 0 {
			sum += d
		}
	}
	return sum * decibelsPerLog / float32(f.bands)
}

func (f *flux) at(t int64) float32 {
	if t < 0 {
		return 0
	}
	return f.past[t%int64(len(f.past))]
}

// excess is the flux of frame t above the mean of the frames before it, each of them counted with fluxCap at most.
func (f *flux) excess(t int64) float32 {
	mean := float32(0)
	for k := t - fluxPast; k < t; k++ {
		mean += min(f.at(k), fluxCap)
	}
	return f.at(t) - mean/fluxPast
}

func (f *flux) pick(t int64, excess float32) bool {
	s := f.at(t)
	if excess < fluxAlone || s <= f.at(t-1) || s < f.at(t+1) || t-f.onset < 2 {
		return false
	}
	f.onset = t
	return true
}

// sum32 adds with four running sums.
func sum32(x []float32) float32 {
	var a, b, c, d float32
	for len(x) >= 4 {
		a += x[0]
		b += x[1]
		c += x[2]
		d += x[3]
		x = x[4:]
	}
	for _, v := range x {
		a += v
	}
	return (a + b) + (c + d)
}

// log2 is the binary logarithm of a positive normal number, within 1e-4: exponent plus a polynomial fitted to the
// mantissa (least squares on Chebyshev nodes).
func log2(x float32) float32 {
	bits := math.Float32bits(x)
	m := math.Float32frombits(bits&0x007fffff|0x3f800000) - 1
	p := float32(0.05994559)
	p = p*m - 0.22771264
	p = p*m + 0.44227418
	p = p*m - 0.71706393
	p = p*m + 1.44261568
	return float32(int32(bits>>23)-127) + m*p
}
