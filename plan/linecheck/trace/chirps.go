package trace

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/plan/linecheck/tones"
)

// chirpEvents says for every millisecond how much of the sound around is a chirp that begins then: 0 nothing, 1 all of
// it. The louder of the two sides counts.
type chirpEvents struct {
	rising, falling []float32
	perSecond       float64
}

const eventsPerSecond = 1000

// chirpFinder passes the recording, at about 12 kHz, through matched filters for the rising and the falling chirp.
type chirpFinder struct {
	rate     float64 // after decimation
	decimate int
	taps     []float64
	channels int
	pending  [][]float64 // samples before decimation that still count, per channel
	phase    int
	low      []highPass
	made     [2][]float64 // one block of them, kept for the next
	queue    []complex128 // decimated: left + i right
	skipped  int          // decimated samples already given out
	fft      *fourier.CmplxFFT
	filters  [2][]complex128
	chirp    int // length in decimated samples
	energy   float64
	out      chirpEvents
}

const matchFFT = 8192

func newChirpFinder(rateHz float64, channels int) *chirpFinder {
	f := &chirpFinder{decimate: max(1, int(rateHz/11000)), channels: channels}
	f.rate = rateHz / float64(f.decimate)
	half := 8 * f.decimate
	cut := 0.45 * f.rate / rateHz // cycles per sample of the input
	if f.decimate == 1 {
		f.taps = []float64{1}
	} else {
		sum := 0.0
		for k := -half; k <= half; k++ {
			w := 0.5 + 0.5*math.Cos(math.Pi*float64(k)/float64(half+1))
			v := 2 * cut * w
			if k != 0 {
				v = w * math.Sin(2*math.Pi*cut*float64(k)) / (math.Pi * float64(k))
			}
			f.taps = append(f.taps, v)
			sum += v
		}
		for k := range f.taps {
			f.taps[k] /= sum
		}
	}
	f.pending = make([][]float64, channels)
	for c := range f.pending {
		f.pending[c] = make([]float64, len(f.taps)/2)
	}
	f.low = make([]highPass, channels)
	f.fft = fourier.NewCmplxFFT(matchFFT)
	f.chirp = int(tones.ChirpSeconds * f.rate)
	for n, rising := range []bool{true, false} {
		x := make([]complex128, matchFFT)
		f.energy = 0
		for i := range f.chirp {
			v := tones.Chirp(float64(i)/f.rate, rising)
			x[i] = complex(v, 0)
			f.energy += v * v
		}
		f.filters[n] = f.fft.Coefficients(nil, x)
		for k, v := range f.filters[n] {
			f.filters[n][k] = complex(real(v), -imag(v)) / matchFFT
		}
	}
	f.out.perSecond = eventsPerSecond
	return f
}

// highPass takes away hum and rumble, which would count as energy that is no chirp.
type highPass struct{ a, b float64 }

func (h *highPass) next(x, g float64) float64 {
	h.a += g * (x - h.a)
	x -= h.a
	h.b += g * (x - h.b)
	return x - h.b
}

func (f *chirpFinder) write(planes [][]float32) {
	g := 1 - math.Exp(-2*math.Pi*250/f.rate)
	made := &f.made
	phase := 0
	for c, x := range planes {
		buf := slices.Grow(f.pending[c], len(x))
		made[c] = made[c][:0]
		for _, v := range x {
			buf = append(buf, float64(v))
		}
		phase = f.phase
		for ; phase+len(f.taps) <= len(buf); phase += f.decimate {
			sum := 0.0
			for k, v := range buf[phase : phase+len(f.taps)] {
				sum += v * f.taps[k]
			}
			made[c] = append(made[c], f.low[c].next(sum, g))
		}
		keep := min(phase, len(buf))
		f.pending[c] = append(f.pending[c][:0], buf[keep:]...)
		phase -= keep
	}
	f.phase = phase
	for i := range made[0] {
		v := complex(made[0][i], 0)
		if f.channels == 2 {
			v = complex(made[0][i], made[1][i])
		}
		f.queue = append(f.queue, v)
	}
	for len(f.queue) >= matchFFT {
		f.match(matchFFT - f.chirp)
	}
}

// match runs the filters over the first matchFFT samples of the queue and gives out the next so many starts.
func (f *chirpFinder) match(starts int) {
	x := f.queue[:matchFFT]
	spectrum := f.fft.Coefficients(nil, x)
	local := make([][2]float64, starts)
	var e [2]float64
	for i := range f.chirp {
		e[0], e[1] = e[0]+real(x[i])*real(x[i]), e[1]+imag(x[i])*imag(x[i])
	}
	for i := range local {
		local[i] = e
		in, out := x[i+f.chirp], x[i]
		e[0] += real(in)*real(in) - real(out)*real(out)
		e[1] += imag(in)*imag(in) - imag(out)*imag(out)
	}
	y := make([]complex128, matchFFT)
	for n, dst := range []*[]float32{&f.out.rising, &f.out.falling} {
		for k, v := range spectrum {
			y[k] = v * f.filters[n][k]
		}
		f.fft.Sequence(y, y)
		for i, e := range local {
			bin := int(float64(f.skipped+i) * eventsPerSecond / f.rate)
			for len(*dst) <= bin {
				*dst = append(*dst, 0)
			}
			l, r := real(y[i])*real(y[i]), imag(y[i])*imag(y[i])
			const floor = 1e-14 // mean square of what counts as digital silence
			s := max(l/(f.energy*(e[0]+floor*float64(f.chirp))), r/(f.energy*(e[1]+floor*float64(f.chirp))))
			if s > float64((*dst)[bin]) {
				(*dst)[bin] = float32(min(1, s))
			}
		}
	}
	f.queue = append(f.queue[:0], f.queue[starts:]...)
	f.skipped += starts
}

func (f *chirpFinder) finish() *chirpEvents {
	for len(f.queue) > 0 {
		n := len(f.queue)
		for len(f.queue) < matchFFT {
			f.queue = append(f.queue, 0)
		}
		starts := min(n, matchFFT-f.chirp)
		f.match(starts)
		f.queue = f.queue[:n-starts]
	}
	return &f.out
}
