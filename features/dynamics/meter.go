package dynamics

import "foldout/features/vec"

const (
	cellsPerStep    = 5
	stepsPerStretch = 10
)

// cellLength is about 1 ms in samples.
func cellLength(sampleRateHz int) int {
	return max((sampleRateHz+500)/1000, 1)
}

// Meter measures one track. Make it with New, feed the samples to Write and the spectra to Frame, then ask for Result.
type Meter struct {
	rate     int
	length   int // samples a cell
	channels []channel
	squares  []float64 // scratch, one a channel

	staged  int   // samples waiting in the channels' stages
	samples int64 // in finished cells
	settled int64 // in finished stretches
	filled  [stepsPerStretch]int
	cells   int // finished in the present stretch

	gate     *gate
	events   events
	onsets   onsets
	flux     flux
	novelty  novelty
	tonality tonality
	bins     int

	result   Result
	finished bool
}

// channel is what is kept of one channel.
type channel struct {
	stage       []float32
	cells       [batch]vec.Cell
	steps       [stepsPerStretch]vec.Cell // of the present stretch; magnitudes and peaks unused
	sum, square float64
	high, low   float32
	clip        clipper
	rectifier   rectifier
	vu          needle
}

// New makes a meter for planes of finite samples with full scale 1. A rate or a number of channels below 1 is taken as 1.
func New(sampleRateHz, channels int) *Meter {
	rate := max(sampleRateHz, 1)
	channels = max(channels, 1)
	n := cellLength(rate)
	m := &Meter{rate: rate, length: n, channels: make([]channel, channels), squares: make([]float64, channels), gate: newGate(channels)}
	for c := range m.channels {
		m.channels[c].stage = make([]float32, n)
		m.channels[c].vu = newNeedle(float64(n) / float64(rate))
	}
	m.events.stepS = float64(n*cellsPerStep) / float64(rate)
	m.planFrames(frameLength(rate)/2 + 1)
	return m
}

// frameLength is 4096 up to 50 kHz, doubled for each doubling of the rate, halved for each halving.
func frameLength(rate int) int {
	n := 4096
	for limit := 50000; rate > limit; limit *= 2 {
		n *= 2
	}
	for limit := 25000; rate < limit && n > 64; limit /= 2 {
		n /= 2
	}
	return n
}

func (m *Meter) planFrames(bins int) {
	m.bins = bins
	n := 2 * (bins - 1)
	binHz := float64(m.rate) / float64(max(n, 1))
	m.onsets.hop = int64(max(n/2, 1))
	m.flux.plan(bins, binHz)
	m.novelty.plan(bins, binHz)
	m.tonality.plan(bins, binHz)
}

// Write takes the next samples, block[channel][i]. Planes beyond the number of channels are ignored, the shortest plane
// sets the length, and a block with too few planes is ignored, as is anything after Result.
func (m *Meter) Write(block [][]float32) {
	if m.finished || len(block) < len(m.channels) {
		return
	}
	n := len(block[0])
	for _, plane := range block[:len(m.channels)] {
		n = min(n, len(plane))
	}
	for i := 0; i < n; {
		if count := min((n-i)/m.length, batch); m.staged == 0 && count > 0 {
			m.addCells(block, i, count)
			i += count * m.length
			continue
		}
		k := min(m.length-m.staged, n-i)
		for c := range m.channels {
			copy(m.channels[c].stage[m.staged:], block[c][i:i+k])
		}
		m.staged += k
		i += k
		if m.staged == m.length {
			m.addStage()
		}
	}
	m.onsets.settle(m.settled, m.flux.frames-1)
}

// addCells takes count whole cells from sample i of the block on.
func (m *Meter) addCells(block [][]float32, i, count int) {
	for c := range m.channels {
		measure(m.channels[c].cells[:count], block[c][i:], m.length)
	}
	for k := range count {
		for c := range m.channels {
			m.addCell(c, block[c][i+k*m.length:][:m.length], &m.channels[c].cells[k])
		}
		m.endCell(m.length)
	}
}

func (m *Meter) addStage() {
	n := m.staged
	for c := range m.channels {
		ch := &m.channels[c]
		measure(ch.cells[:1], ch.stage, n)
		m.addCell(c, ch.stage[:n], &ch.cells[0])
	}
	m.staged = 0
	m.endCell(n)
}

func (m *Meter) addCell(c int, x []float32, v *vec.Cell) {
	ch := &m.channels[c]
	s := &ch.steps[m.cells/cellsPerStep]
	s.Sum += v.Sum
	s.Square += v.Square
	ch.vu.step(ch.rectifier.mean(x, v))
	var high, low float32
	if v.Peak >= min(ch.high, -ch.low, fullScale) { // or no sample counts as an extreme
		high, low = extremes(x)
		ch.high, ch.low = max(ch.high, high), min(ch.low, low)
	}
	ch.clip.write(x, high, low)
}

func (m *Meter) endCell(n int) {
	m.filled[m.cells/cellsPerStep] += n
	m.samples += int64(n)
	m.cells++
	if m.cells == cellsPerStep*stepsPerStretch {
		m.endStretch()
	}
}

// endStretch takes the mean of each channel out of the stretch and hands the envelope and the level on.
func (m *Meter) endStretch() {
	steps := (m.cells + cellsPerStep - 1) / cellsPerStep
	n := 0
	for _, f := range m.filled[:steps] {
		n += f
	}
	var energy [stepsPerStretch]float64
	total := 0.0
	for c := range m.channels {
		ch := &m.channels[c]
		sum, square := 0.0, 0.0
		for _, s := range ch.steps[:steps] {
			sum += s.Sum
			square += s.Square
		}
		mean := sum / float64(n)
		for i, s := range ch.steps[:steps] {
			e := s.Square - mean*(2*s.Sum-mean*float64(m.filled[i]))
			if e > s.Square*1e-12 { // less is rounding
				energy[i] += e
				total += e
			}
		}
		ch.sum += sum
		ch.square += square
		m.squares[c] = square
		clear(ch.steps[:])
	}
	start := m.samples - int64(n)
	channels := float64(len(m.channels))
	for i, e := range energy[:steps] {
		if m.events.push(e / (channels * float64(m.filled[i]))) {
			m.onsets.envelope(start, m.events.now.rise())
		}
		start += int64(m.filled[i])
	}
	m.settled = m.samples
	m.gate.add(n, total/(channels*float64(n)), m.squares)
	clear(m.filled[:])
	m.cells = 0
}

// Frame takes the next spectrum: power[k], k = 0..N/2, the one-sided power of a Hann-windowed frame of N samples
// averaged over the channels, whose sum is the mean square; frames follow each other by N/2. N is expected to be 4096
// for rates of 25 to 50 kHz and in proportion elsewhere; another length is accepted but must stay the same.
// Samples and frames of the same stretch may come in any order, not more than two minutes apart.
func (m *Meter) Frame(power []float32) {
	if m.finished || len(power) < 2 {
		return
	}
	if len(power) != m.bins {
		if m.tonality.frames > 0 {
			return
		}
		m.planFrames(len(power))
	}
	m.tonality.frame(power)
	excess, peak := m.flux.frame(power)
	fresh, isNew := m.novelty.frame(power)
	if m.flux.frames > 1 {
		m.onsets.frame(m.flux.frames-2, excess, peak, fresh, isNew)
	}
	m.onsets.settle(m.settled, m.flux.frames-1)
}

// Result ends the measurement and gives its figures; further calls give the same.
func (m *Meter) Result() Result {
	if !m.finished {
		if m.staged > 0 {
			m.addStage()
		}
		if m.cells > 0 {
			m.endStretch()
		}
		m.events.finish(m.events.n - 1)
		if m.flux.frames > 0 {
			excess, peak := m.flux.last()
			fresh, isNew := m.novelty.last()
			m.onsets.frame(m.flux.frames-1, excess, peak, fresh, isNew)
		}
		m.onsets.finish(m.samples, m.flux.frames)
		m.finished = true
		m.result = m.figures()
	}
	return m.result
}
