package timbre

import (
	"fmt"
	"math"
)

// Names lists the elements of the vector, in order. c0 to c14 are cosine coefficients of 36 ERB bands in decibels.
var Names = names()

// Size is the length of the vector.
var Size = len(Names)

// element is one named number; the list is made in one place so that names and numbers cannot drift apart.
type element struct {
	name  string
	value float64
}

func names() []string {
	var out []string
	for _, e := range New(48000, 1).elements() {
		out = append(out, e.name)
	}
	return out
}

// Vector returns the numbers so far, all finite. Without any sound it is the vector of a fresh meter.
func (m *Meter) Vector() []float32 {
	es := m.elements()
	v := make([]float32, len(es))
	for i, e := range es {
		if math.IsNaN(e.value) || math.Abs(e.value) > 1e6 {
			e.value = 0
		}
		v[i] = float32(e.value)
	}
	return v
}

func (m *Meter) elements() []element {
	var es []element
	add := func(name string, v float64) { es = append(es, element{name, v}) }
	m.addSpectrum(add)
	m.addRegisters(add)
	m.addCourse(add)
	m.addPitch(add)
	m.addTime(add)
	return es
}

func (m *Meter) addSpectrum(add func(string, float64)) {
	for i := 1; i < coefficients; i++ {
		add(fmt.Sprintf("c%d mean", i), m.cepstrum[i].mean())
	}
	for i := 1; i < 12; i++ {
		add(fmt.Sprintf("c%d deviation", i), m.cepstrum[i].dev())
	}
	for i := 1; i < 9; i++ {
		add(fmt.Sprintf("c%d movement", i), m.movement[i].mean())
	}
	var total float64
	for _, v := range m.longTerm {
		total += v
	}
	db := func(v float64) float64 { return ratioDB(v, total, 60) }
	point := func(share float64) float64 { // octaves re 1 kHz below which the share lies
		var run float64
		for i, v := range m.longTerm {
			if total > 0 && v > 0 && run+v >= share*total {
				lo := m.bank.centres[max(i-1, 0)]
				f := (share*total - run) / v
				return math.Log2((lo + f*(m.bank.centres[i]-lo)) / 1000)
			}
			run += v
		}
		return 0
	}
	add("5 % point oct", point(0.05))
	add("25 % point oct", point(0.25))
	add("50 % point oct", point(0.5))
	add("75 % point oct", point(0.75))
	add("95 % point oct", point(0.95))
	add("99.5 % point oct", point(0.995))
	// above which band the spectrum stays 45 dB below its strongest band: loudspeakers and dull samples stop early
	var strongest float64
	for _, v := range m.longTerm {
		strongest = math.Max(strongest, v)
	}
	limit := 0
	for i, v := range m.longTerm {
		if v > strongest*3e-5 {
			limit = i
		}
	}
	add("upper limit oct", math.Log2(m.bank.centres[limit]/1000))
	// how fast it falls on the two octaves from the 95 % point on
	var top, far float64
	edge := 1000 * math.Exp2(point(0.95))
	for i, v := range m.longTerm {
		switch f := m.bank.centres[i] / edge; {
		case f >= 0.5 && f < 1:
			top += v
		case f >= 2 && f < 4:
			far += v
		}
	}
	add("fall above 95 % dB", ratioDB(top, far, 50))
	for i := range m.reg {
		add(fmt.Sprintf("register %d dB", i+1), db(m.registerPower(i)))
	}
	q := func(p float64) float64 { return m.centroid.quantile(p, 0) }
	add("centroid oct", m.centroidM.mean())
	add("centroid deviation oct", m.centroidM.dev())
	add("centroid 10 to 50 % oct", q(0.5)-q(0.1))
	add("centroid 50 to 90 % oct", q(0.9)-q(0.5))
	add("bright bursts", math.Sqrt(ratio(m.burst, m.weight)))
	t := m.byTime
	add("bright by time", math.Sqrt(ratio(t.bright, t.frames)))
	add("bright changes by time", math.Sqrt(ratio(t.bursts, t.frames)))
}

// registerPower sums the long-term bands of a register.
func (m *Meter) registerPower(r int) float64 {
	var s float64
	for _, v := range m.longTerm[m.bank.reg[r]:m.bank.reg[r+1]] {
		s += v
	}
	return s
}

func (m *Meter) addRegisters(add func(string, float64)) {
	for i := range m.reg {
		r := &m.reg[i]
		n := i + 1
		add(fmt.Sprintf("register %d peaked dB", n), r.peaked.mean())
		still := 0.0
		if r.high > 0 {
			still = r.low / r.high
		}
		add(fmt.Sprintf("register %d stillness", n), still)
		add(fmt.Sprintf("register %d flux dB", n), math.Sqrt(r.flux2.mean()))
		skew := 0.0
		if v := r.flux2.mean(); v > 0 {
			skew = math.Max(-4, math.Min(4, r.flux3.mean()/math.Pow(v+1, 1.5)))
		}
		add(fmt.Sprintf("register %d suddenness", n), skew)
	}
}

func (m *Meter) addCourse(add func(string, float64)) {
	c := &m.course
	mid := c.change.quantile(0.5, 0)
	add("change of level dB", mid)
	add("change 10 to 50 % dB", mid-c.change.quantile(0.1, mid))
	add("change 50 to 90 % dB", c.change.quantile(0.9, mid)-mid)
	steady := 0.0
	if c.change.total > 0 {
		steady = c.change.above(-0.5) - c.change.above(0.75)
	}
	add("steady share", steady)
	for i := 1; i <= riseShapes; i++ {
		v := 0.0
		if c.rising[i].w > 0 {
			v = c.rising[i].mean() - m.cepstrum[i].mean()
		}
		add(fmt.Sprintf("c%d beginning", i), v)
	}
	for r := range c.falls {
		add(fmt.Sprintf("register %d fall dB", r+1), c.falls[r].mean())
	}
	add("presence dB", c.presence.quantile(0.5, -20))
	add("presence 90 % dB", c.presence.quantile(0.9, -20))
	add("air dB", c.air.quantile(0.5, -30))
	add("air 90 % dB", c.air.quantile(0.9, -30))
}

func (m *Meter) addPitch(add func(string, float64)) {
	add("stillness of lines", m.still.mean())
	add("pitch salience", m.salience.mean())
	add("pitch salience deviation", m.salience.dev())
	add("pitch contrast dB", m.contrast.mean())
	add("harmonicity", m.harmonicity.mean())
	add("harmonicity deviation", m.harmonicity.dev())
	add("harmonicity 10 %", m.harmonicH.quantile(0.1, 0))
	add("harmonicity 90 %", m.harmonicH.quantile(0.9, 0))
	add("pitched share", ratio(m.voiced, m.weight))
	t := m.byTime
	add("unpitched by time", math.Sqrt(ratio(t.noisy, t.frames)))
	add("in a course by time", ratio(t.coursed, t.frames))
	mid := m.f0.quantile(0.5, math.Log2(300))
	add("pitch median oct", mid-math.Log2(300))
	add("pitch 10 to 50 % oct", mid-m.f0.quantile(0.1, mid))
	add("pitch 50 to 90 % oct", m.f0.quantile(0.9, mid)-mid)
	c := m.contour
	moves := c.steady + c.gliding + c.jumping + c.runs
	add("pitch steady share", ratio(c.steady, moves))
	add("pitch gliding share", ratio(c.gliding, moves))
	add("pitch jumping share", ratio(c.jumping, moves))
	add("pitch courses", ratio(c.seen*contourLength/4, m.weight))
	add("vibrato depth log2 cents", math.Log2(1+c.depth.mean()))
	add("vibrato regularity", c.regular.mean())
	add("vibrato share", ratio(c.deep, c.seen))
	add("vibrato rate Hz", c.meanRate())
	add("glide log2 cents/s", math.Log2(1+c.slope.mean()))
	add("first harmonic dB", m.first.mean())
	add("first harmonic deviation dB", m.first.dev())
	add("odd over even dB", m.oddEven.mean())
	add("stretch cents", m.stretch.mean())
	add("sharp harmonics cents", m.sharp.mean())
	add("sharp harmonics deviation cents", m.sharp.dev())
	add("articulation", m.articul.mean())
}

func (m *Meter) addTime(add func(string, float64)) {
	e := m.env
	for i := range modulations {
		add(fmt.Sprintf("modulation %d Hz dB", 1<<i), e.broad.modulation(i))
	}
	for i := 2; i < modulations; i++ {
		add(fmt.Sprintf("high modulation %d Hz dB", 1<<i), e.treble.modulation(i))
	}
	add("crest dB", e.broad.crest())
	add("high crest dB", e.treble.crest())
	add("low crest dB", e.bass.crest())
	add("high over all dB", ratioDB(e.treble.square, e.broad.square, 60))
	add("low over all dB", ratioDB(e.bass.square, e.broad.square, 60))
	co := 0.0
	if v := e.bass.square * e.treble.square; v > 0 {
		co = e.coLowHigh / math.Sqrt(v)
	}
	add("low with high", co)
	o := &e.onsets
	ref := m.loudest.mean()
	sounding := m.level.above(ref-30) * m.level.total / m.frameHz // seconds
	rate := 0.0
	if sounding > 0 {
		rate = math.Log2(0.25 + math.Min(o.count/sounding, 16))
	}
	add("onsets log2 Hz", rate)
	add("onset strength dB", o.strength.mean())
	add("attack log2 s", o.attack.quantile(0.5, -4))
	add("decay log2 s", o.decay.quantile(0.5, 0))
	add("decay spread", o.decay.quantile(0.8, 0)-o.decay.quantile(0.2, 0))
	add("interval log2 s", o.interval.quantile(0.5, 0))
	add("interval regularity", o.interval.peakShare())
	add("brightness at the attack dB", ratioDB(o.brightAttack.mean(), o.brightLater.mean(), 20))
	// of the time that sounds: silence around and between is no news
	add("loud share", ratio(m.level.above(ref-15), m.level.above(ref-30)))
	add("quiet log2", math.Log2(math.Max(1, math.Min(8, ratio(m.level.above(ref-50), m.level.above(ref-30))))))
	gaps := 0.0
	if sounding > 0 {
		gaps = math.Log2(0.125 + math.Min(m.gaps/sounding, 8))
	}
	add("gaps log2 Hz", gaps)
	width := 0.0
	if m.stereo && e.ll+e.rr > 0 {
		width = math.Sqrt(math.Max(0, math.Min(1, 0.5-e.lr/(e.ll+e.rr))))
	}
	add("stereo width", width)
}

// ratio is a/b, 0 where there is nothing to divide by.
func ratio(a, b float64) float64 {
	if b <= 0 {
		return 0
	}
	return a / b
}

// modulation is the energy of octave band i (2^i Hz) re the mean square amplitude, in decibels, held above -50.
func (f *follower) modulation(i int) float64 {
	if f.square <= 0 {
		return -50
	}
	return math.Max(-50, 10*math.Log10(f.band[i]/f.square+1e-6))
}

// crest is how far the amplitude reaches beyond its usual height: the third moment times the first over the square of the
// second, in decibels. It is 0 for a constant amplitude, and pauses do not change it.
func (f *follower) crest() float64 {
	if f.square <= 0 {
		return 0
	}
	return 10 * math.Log10(math.Max(1, f.cube*f.sum/(f.square*f.square)))
}
