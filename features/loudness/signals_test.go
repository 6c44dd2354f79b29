package loudness

import (
	"math"
	"math/rand/v2"
)

// The signals of the tests. All are made afresh from formulas and seeded generators (PCG), so they are the same on every
// run and every machine up to the last bits of math.Sin and math.Exp.

// tone is one step of a test signal: a sine of the given peak level, or silence at minus infinity.
type tone struct {
	seconds float64
	dbfs    float64
}

var silence = math.Inf(-1)

func amplitude(dbfs float64) float64 { return math.Pow(10, dbfs/20) }

// tones strings steps of one sine together; phase runs on through the steps. hz is whole, so a second of it repeats.
func tones(rate, hz int, steps ...tone) []float32 {
	second := make([]float64, rate)
	for i := range second {
		second[i] = math.Sin(2 * math.Pi * float64(hz) * float64(i) / float64(rate))
	}
	total, end := 0.0, 0.0
	for _, step := range steps {
		total += step.seconds
	}
	x := make([]float32, 0, int(math.Round(total*float64(rate))))
	for _, step := range steps {
		end += step.seconds
		a := amplitude(step.dbfs)
		for n := int(math.Round(end * float64(rate))); len(x) < n; {
			x = append(x, float32(a*second[len(x)%rate]))
		}
	}
	return x
}

func repeated(times int, steps ...tone) []tone {
	var all []tone
	for range times {
		all = append(all, steps...)
	}
	return all
}

func stereo(x []float32) [][]float32 { return [][]float32{x, x} }

func generator(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x10bd)) }

// whiteNoise is Gaussian noise of the given rms, hard-limited to full scale.
func whiteNoise(seed uint64, n int, rms float64) []float32 {
	r := generator(seed)
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(min(max(rms*r.NormFloat64(), -1), 1))
	}
	return x
}

// pinkNoise is white noise through three one-pole sections in parallel, falling about 3 dB an octave.
func pinkNoise(seed uint64, n int, rms float64) []float32 {
	r := generator(seed)
	x := make([]float32, n)
	var a, b, c float64
	for i := range x {
		w := r.NormFloat64()
		a = 0.99765*a + w*0.0990460
		b = 0.96300*b + w*0.2965164
		c = 0.57000*c + w*1.0526913
		x[i] = float32(min(max(rms*(a+b+c+w*0.1848)/2.2, -1), 1))
	}
	return x
}

// speechLike is a buzz at a wandering pitch through three resonances, cut into syllables and pauses.
func speechLike(seed uint64, rate, n int) []float32 {
	r := generator(seed)
	fs := float64(rate)
	x := make([]float32, n)
	radius := math.Exp(-math.Pi * 100 / fs) // bandwidth 100 Hz
	var cosines, y1, y2 [3]float64
	phase, pitch, level, target := 0.0, 120.0, 0.0, 0.0
	left := 0
	for i := range x {
		if left == 0 { // the next syllable or pause
			left = int(fs * (0.08 + 0.2*r.Float64()))
			target = 0
			if r.Float64() < 0.75 {
				target = math.Pow(10, -12*r.Float64()/20)
			}
			pitch = 90 + 60*r.Float64()
			for k, hz := range [3]float64{300 + 500*r.Float64(), 900 + 1200*r.Float64(), 2300 + 600*r.Float64()} {
				cosines[k] = math.Cos(2 * math.Pi * hz / fs)
			}
		}
		left--
		level += (target - level) * 60 / fs
		phase += pitch / fs
		source := 0.02 * r.NormFloat64()
		if phase >= 1 {
			phase--
			source++
		}
		sum := 0.0
		for k := range cosines {
			y := source + 2*radius*cosines[k]*y1[k] - radius*radius*y2[k]
			y2[k], y1[k] = y1[k], y
			sum += y
		}
		x[i] = float32(0.06 * level * sum)
	}
	return x
}

// drumLike is a kick on every beat, a snare on every second and a hat on every half, at 110 beats a minute.
func drumLike(seed uint64, rate, n int) []float32 {
	r := generator(seed)
	fs := float64(rate)
	half := 30.0 / 110
	x := make([]float32, n)
	for i := range x {
		t := float64(i) / fs
		beat := math.Floor(t / half)
		since := t - beat*half
		noise := r.NormFloat64()
		y := 0.12 * math.Exp(-since*60) * noise
		switch int(beat) % 4 {
		case 0:
			y += 0.8 * math.Exp(-since*12) * math.Sin(2*math.Pi*(50*since+6*(1-math.Exp(-since*40))))
		case 2:
			y += math.Exp(-since*20) * (0.35*math.Sin(2*math.Pi*190*since) + 0.25*noise)
		}
		x[i] = float32(min(max(y, -1), 1))
	}
	return x
}

// musicLike is a chord progression of decaying harmonic notes.
func musicLike(seed uint64, rate, n int) []float32 {
	r := generator(seed)
	fs := float64(rate)
	x := make([]float32, n)
	for start := 0; start < n; start += rate / 3 {
		f0 := 55 * math.Pow(2, float64(r.IntN(36))/12)
		for h := 1.0; h <= 8 && h*f0 < 0.4*fs; h++ {
			a := 0.25 / h * (0.5 + r.Float64())
			turn, decay := 2*math.Pi*h*f0/fs, math.Exp(-3/fs)
			pull := 2 * decay * math.Cos(turn)
			y, y1 := 0.0, -math.Sin(turn)/decay
			for i := start; i < min(n, start+rate); i++ {
				x[i] += float32(a * y)
				y, y1 = pull*y-decay*decay*y1, y
			}
		}
	}
	return x
}
