// Package timbre turns the sound of one track into a fixed vector of numbers that tells instruments apart.
//
// In go the shared stream of power spectra and the samples themselves, out comes a vector whose elements Names lists:
// cepstral statistics on the ERB-rate scale, shape and limits of the long-term spectrum, the course of level and highs
// from frame to frame, peakedness and stationarity of six registers, fundamental, glides, vibrato and harmonic balance, movement of resonances under a steady pitch,
// short bright bursts, modulation spectrum, onsets, attack and decay, activity and stereo width.
//
// Every element is independent of gain and polarity. Averages are weighted with the root of a frame's power, so pauses
// and noise floors hardly count and no threshold has to be known beforehand. Memory does not grow with length.
//
// Sources: Glasberg and Moore 1990 (ERB-rate), Hermes 1988 (subharmonic summation), Peeters 2004 (descriptors);
// the choice of measures was made by experiment, recorded in testdata/rolemodel.
package timbre

import (
	"math"

	"foldout/features/spectrum"
)

// silentPower is the mean square below which a frame counts as silence (-160 dBFS).
const silentPower = 1e-16

// Meter measures one track. Feed it with Frame and Write, in any order, then take the Vector.
type Meter struct {
	frameHz float64
	bank    *filterbank
	pitch   *pitchFinder
	contour *contour
	env     *envelope
	course  course
	stereo  bool

	bands, squares [bandCount]float64
	cep, prev      [coefficients]float64
	havePrev       bool
	peak           float64 // running maximum of the frames' power

	cepstrum  [coefficients]moments
	movement  [coefficients]moments
	articul   moments // movement of c2..c8 under steady pitch
	longTerm  [bandCount]float64
	level     histogram // dBFS of all frames
	loudest   moments   // energy-weighted level
	centroid  histogram // of log2 Hz
	centroidM moments
	reg       [registers]register
	burst     float64 // weight of bright bursts
	weight    float64
	frames    float64
	sounding  float64
	gaps      float64
	inGap     bool
	counted   bool // the present frame counts in byTime
	still     moments
	byTime    timeShares

	salience, contrast, harmonicity moments
	voiced                          float64
	f0                              histogram
	harmonicH                       histogram
	first, oddEven, stretch, sharp  moments
}

// registerFloor is the power re the track's peak below which a register counts as empty.
const registerFloor = 1e-7

// timeShares counts sounding frames whatever their level, so that consonants weigh as much as vowels.
type timeShares struct {
	frames  float64 // within 35 dB of the energy-weighted level so far
	bright  float64 // more power above 3.5 kHz than below 1.2 kHz
	noisy   float64 // without a fundamental
	coursed float64 // inside a course of the fundamental that has lasted five frames
	bursts  float64 // changes between bright and not
	was     bool
}

// register is one of six parts of the spectrum over time.
type register struct {
	lastPower, prevLog float64
	peak               float64
	peaked             moments // participation of the bins, dB
	low, high          float64 // sums of smaller and larger of neighbouring amplitudes
	flux2, flux3       moments // second and third power of the change in level
}

// New makes a meter. Rates and channel counts below 1 are taken as 1.
func New(sampleRateHz, channels int) *Meter {
	rate := max(1, sampleRateHz)
	size := spectrum.FrameSize(rate)
	binHz := float64(rate) / float64(size)
	hop := float64(size) / 2 / float64(rate)
	m := &Meter{
		frameHz:   1 / hop,
		bank:      newFilterbank(binHz, size/2+1),
		pitch:     newPitchFinder(binHz, size/2+1),
		contour:   newContour(1/hop, 2*hop),
		env:       newEnvelope(rate, max(1, channels)),
		stereo:    channels > 1,
		level:     newHistogram(-170, 30, 1),
		centroid:  newHistogram(4, 15, 0.125),
		f0:        newHistogram(4, 12, 1.0/12),
		harmonicH: newHistogram(-0.5, 1, 0.05),
	}
	m.course = newCourse(m.frameHz, m.bank)
	return m
}

// Write takes the next samples, one plane per channel. Samples that are not finite void the 5 ms they lie in.
func (m *Meter) Write(block [][]float32) { m.env.write(block) }

// Frame takes the next power spectrum of the shared stream: power[k] is the mean-square share of bin k.
// Frames of another length than the rate's are ignored, frames that are not finite count as silence.
func (m *Meter) Frame(power []float32) {
	if len(power) != m.bank.bins {
		return
	}
	m.bank.sum(&m.bands, &m.squares, power)
	var total float64
	for _, v := range m.bands {
		total += v
	}
	m.frames++
	if !(total < math.MaxFloat32) || total < silentPower {
		m.rest()
		return
	}
	m.level.add(1, 10*math.Log10(total))
	m.loudest.add(total, 10*math.Log10(total))
	for i, v := range m.bands {
		m.longTerm[i] += v
	}
	m.peak = math.Max(m.peak, total)
	if total < m.peak*1e-6 { // too quiet to say anything about the sound
		m.rest()
		return
	}
	w := math.Sqrt(total)
	m.activity(total)
	m.shape(w, total)
	m.course.add(w, total, &m.bands, &m.cep, m.bank, m.havePrev)
	m.registerFrame()
	m.pitchFrame(w, power)
	m.prev, m.havePrev = m.cep, true
}

// rest notes a frame without sound.
func (m *Meter) rest() {
	m.contour.rest()
	m.havePrev = false
	if m.sounding > 0 {
		m.inGap = true
	}
	for i := range m.reg {
		m.reg[i].lastPower = 0
	}
	m.pitch.forget()
}

// activity counts gaps: stretches 30 dB below the energy-weighted level so far.
func (m *Meter) activity(total float64) {
	down := 10*math.Log10(total) - m.loudest.mean()
	m.counted = down > -35
	switch {
	case down < -30 && m.sounding > 0:
		m.inGap = true
	case down > -24:
		if m.inGap { // a gap is one that sound follows
			m.gaps++
		}
		m.inGap = false
	}
	if down > -30 {
		m.sounding++
	}
}

// shape takes the frame's spectrum on the ERB-rate scale.
func (m *Meter) shape(w, total float64) {
	m.bank.cepstrum(&m.cep, &m.bands, total)
	for i, c := range m.cep {
		m.cepstrum[i].add(w, c)
	}
	if m.havePrev {
		for i, c := range m.cep {
			m.movement[i].add(w, math.Abs(c-m.prev[i]))
		}
	}
	var centre, high, low float64
	for i, v := range m.bands {
		centre += v * m.bank.centres[i]
		switch {
		case m.bank.centres[i] > 3500:
			high += v
		case m.bank.centres[i] < 1200:
			low += v
		}
	}
	if m.counted {
		t := &m.byTime
		t.frames++
		bright := high > low
		if bright {
			t.bright++
		}
		if bright != t.was {
			t.bursts++
		}
		t.was = bright
	}
	c := math.Log2(math.Max(centre/total, 20))
	m.centroid.add(w, c)
	m.centroidM.add(w, c)
	m.weight += w
	if high > 2*low {
		m.burst += w
	}
}

func (m *Meter) registerFrame() {
	for i := range m.reg {
		r := &m.reg[i]
		var s, q, width float64
		for b := m.bank.reg[i]; b < m.bank.reg[i+1]; b++ {
			s += m.bands[b]
			q += m.squares[b]
			width += m.bank.width[b]
		}
		// what lies 70 dB below the track says nothing about it: there, every measure tends to its value for nothing
		floor := m.peak * registerFloor
		if width > 0 && s > 0 {
			r.peaked.add(math.Sqrt(s), 10*math.Log10(1+math.Max(0, q*width/(s*s)-1)*s/(s+floor)))
		}
		r.peak = math.Max(r.peak, s)
		a, b := math.Sqrt(s+floor), math.Sqrt(r.lastPower+floor)
		r.low += math.Min(a, b)
		r.high += math.Max(a, b)
		level := 10 * math.Log10(s/math.Max(r.peak, m.peak*1e-3)+1e-4)
		if m.havePrev {
			d := level - r.prevLog
			r.flux2.add(math.Sqrt(a+b), d*d)
			r.flux3.add(math.Sqrt(a+b), d*d*d)
		}
		r.prevLog, r.lastPower = level, s
	}
}

func (m *Meter) pitchFrame(w float64, power []float32) {
	m.pitch.compress(power)
	if m.pitch.all > 0 {
		m.still.add(w, m.pitch.same/m.pitch.all)
	}
	p, ok := m.pitch.find(power)
	if !ok {
		m.noisy()
		return
	}
	m.salience.add(w, p.salience)
	m.contrast.add(w, p.contrast)
	m.harmonicity.add(w, p.harmonicity)
	m.harmonicH.add(w, p.harmonicity)
	if p.harmonicity < 0.35 {
		m.noisy()
		return
	}
	m.voiced += w
	m.f0.add(w, math.Log2(p.hz))
	m.first.add(w, p.first)
	m.oddEven.add(w, p.oddEven)
	m.stretch.add(w, math.Min(p.stretch, 60))
	if p.sharpOK {
		m.sharp.add(w, p.sharp)
	}
	before := m.contour.n
	m.contour.add(w, p.hz)
	if m.counted && m.contour.n > 5 {
		m.byTime.coursed++
	}
	if m.havePrev && before > 0 && m.contour.n > 1 {
		var d float64
		for i := 2; i <= 8; i++ {
			d += math.Abs(m.cep[i] - m.prev[i])
		}
		m.articul.add(w, d)
	}
}

// noisy notes a sounding frame without a fundamental.
func (m *Meter) noisy() {
	m.contour.rest()
	if m.counted {
		m.byTime.noisy++
	}
}
