// Package loudness measures how loud a track is and how high it peaks.
//
// In go planes of float32 samples, one per channel, full scale 1.0; out come the integrated loudness with both gates,
// the highest momentary and short-term loudness (LUFS), the loudness range (LU), the sample peak (dBFS) and the true
// peak (dBTP). Everything streams: memory is fixed when a meter is made, and Write allocates nothing.
//
// Sources: ITU-R BS.1770-5 Annex 1 (loudness) and Annex 2 (true peak), EBU Tech 3341 (meter windows), EBU Tech 3342
// (loudness range). LUFS and LKFS are the same unit.
//
// The work is laid out along the signal path:
//
//	kweight.go    K-weighting, its coefficients for any sample rate, and the sum of squares
//	window.go     10 ms energies into the 400 ms and 3 s sliding windows
//	gate.go       the histogram behind the gated mean and the percentiles
//	truepeak.go   the peak meter: sample peak, and which samples need interpolation at all
//	interpolate.go   the interpolators and the bounds that tell
package loudness

import (
	"math"
)

// Meter measures one track. Make it with New, feed it with Write, read it with Result; a Meter is used by one
// goroutine at a time.
type Meter struct {
	heard   []int     // channels that count towards loudness
	weights []float64 // of the heard channels
	filters []kFilter // of the heard channels
	table   *kTable
	staged  [][]float32 // of the heard channels: what there is of the hop in progress
	whole   [][]float32 // of the heard channels: the hop being filtered

	rate     int64
	position int64 // samples since the start
	hops     int64 // complete hops
	hopEnd   int64 // position at which the hop in progress ends

	windows windows
	peaks   *TruePeak
}

// Result holds the figures of everything written so far. Levels are minus infinity on silence.
type Result struct {
	// IntegratedLUFS is the gated programme loudness. It is minus infinity when no 400 ms block passes the absolute
	// gate of -70 LUFS, which includes every track shorter than 400 ms.
	IntegratedLUFS float64
	// LoudnessRangeLU is the range between the 10th and the 95th percentile of the gated short-term loudness; 0 for
	// silence and for tracks shorter than 3 s. Below 60 s the figure is not stable (EBU Tech 3341).
	LoudnessRangeLU float64
	// MaxMomentaryLUFS and MaxShortTermLUFS are the highest readings of the ungated 400 ms and 3 s windows. The track is
	// taken to be preceded by silence, as for a meter that is already running when the track starts.
	MaxMomentaryLUFS float64
	MaxShortTermLUFS float64

	SamplePeakDBFS float64 // highest sample of any channel
	TruePeakDBTP   float64 // highest true peak of any channel, never below SamplePeakDBFS

	ChannelSamplePeakDBFS []float64 // one per channel
	ChannelTruePeakDBTP   []float64
}

// New returns a meter for a track of the given rate and number of channels. Rates from 8 to 384 kHz are meant; below
// 4 kHz, where the K-weighting shelf no longer fits under half the rate, the shelf is lowered to fit.
//
// Channels are weighted by their number, see Weights.
func New(sampleRateHz, channels int) *Meter {
	return NewWeighted(sampleRateHz, Weights(max(channels, 0), 0))
}

// NewWithoutPeaks is New for those who want the loudness alone: it looks at no peak, and those of Result are
// not numbers. What is left takes a
// third of the time.
func NewWithoutPeaks(sampleRateHz, channels int) *Meter {
	m := New(sampleRateHz, channels)
	m.peaks = nil
	return m
}

// NewWeighted is New with the weight of each channel in the sum of powers; 0 leaves it out of all loudness figures.
func NewWeighted(sampleRateHz int, weights []float64) *Meter {
	sampleRateHz = max(sampleRateHz, 1)
	channels := len(weights)
	m := &Meter{
		rate:    int64(sampleRateHz),
		windows: newWindows(sampleRateHz),
		peaks:   NewTruePeak(sampleRateHz, channels),
	}
	for c, w := range weights {
		if w > 0 {
			m.heard = append(m.heard, c)
			m.weights = append(m.weights, w)
			m.filters = append(m.filters, newKFilter(sampleRateHz))
			m.staged = append(m.staged, make([]float32, 0, sampleRateHz/hopsPerSecond+1))
		}
	}
	m.whole = make([][]float32, len(m.heard))
	m.table = newKTable(newKFilter(sampleRateHz), sampleRateHz/hopsPerSecond)
	m.hopEnd = m.hopBoundary(1)
	return m
}

// hopBoundary returns the sample at which hop k starts: k x 10 ms to the nearest sample.
func (m *Meter) hopBoundary(k int64) int64 {
	return (k*m.rate + hopsPerSecond/2) / hopsPerSecond
}

// Write measures a block: one plane per channel, all of the same length, which may be anything including 0. Results do
// not depend on how a track is cut into blocks. Samples must be finite. Should the planes differ in length, the shortest
// counts; planes beyond the meter's channels are ignored, and missing ones leave their channel as it was.
func (m *Meter) Write(block [][]float32) {
	frames := shortest(block)
	if m.peaks != nil {
		m.peaks.Write(block)
	}
	for start := 0; start < frames; {
		end := start + int(min(int64(frames-start), m.hopEnd-m.position))
		m.position += int64(end - start)
		if m.position == m.hopEnd {
			m.weigh(block, start, end)
		} else {
			m.stage(block, start, end)
		}
		start = end
		for m.position == m.hopEnd {
			m.windows.add(m.hopEnergy())
			for i := range m.filters {
				m.filters[i].endHop()
			}
			m.hops++
			m.hopEnd = m.hopBoundary(m.hops + 1)
		}
	}
}

// stage keeps frames start..end of a hop that is not complete yet. Hops are filtered whole, so that how a track is cut
// into blocks makes no difference, not even in rounding.
func (m *Meter) stage(block [][]float32, start, end int) {
	for i, c := range m.heard {
		if c < len(block) {
			m.staged[i] = append(m.staged[i], block[c][start:end]...)
		}
	}
}

// weigh filters the hop that frames start..end complete, two channels at a time where that pays.
func (m *Meter) weigh(block [][]float32, start, end int) {
	for i := range m.heard {
		m.whole[i] = m.hop(i, block, start, end)
	}
	for i := 0; i < len(m.whole); i++ {
		x := m.whole[i]
		if !vectors && i+1 < len(m.whole) && len(x) == len(m.whole[i+1]) {
			sumSquares2(&m.filters[i], &m.filters[i+1], x, m.whole[i+1])
			i++
			continue
		}
		f := &m.filters[i]
		f.sumSquares(x[f.sumStretches(x, m.table):])
	}
	for i := range m.staged {
		m.staged[i] = m.staged[i][:0]
	}
}

// hop returns the samples of the hop that frames start..end complete, of heard channel i.
func (m *Meter) hop(i int, block [][]float32, start, end int) []float32 {
	c := m.heard[i]
	switch {
	case c >= len(block):
		return m.staged[i]
	case len(m.staged[i]) == 0:
		return block[c][start:end]
	}
	m.staged[i] = append(m.staged[i], block[c][start:end]...)
	return m.staged[i]
}

// hopEnergy returns the weighted sum of squares of the hop in progress over all channels.
func (m *Meter) hopEnergy() float64 {
	sum := 0.0
	for i, w := range m.weights {
		f := m.filters[i] // a copy: the hop may go on
		f.sumSquares(m.staged[i])
		sum += w * f.energyGain * f.sum
	}
	return sum
}

// Result returns the figures of everything written so far; writing may go on afterwards.
func (m *Meter) Result() Result {
	momentary, shortTerm := m.windows.maxima(m.hopEnergy())
	r := Result{
		IntegratedLUFS:   lufs(m.windows.blocks.gatedMean()),
		LoudnessRangeLU:  m.windows.shortTerms.loudnessRange(),
		MaxMomentaryLUFS: lufs(momentary),
		MaxShortTermLUFS: lufs(shortTerm),
		SamplePeakDBFS:   math.NaN(),
		TruePeakDBTP:     math.NaN(),
	}
	if m.peaks == nil {
		return r
	}
	r.SamplePeakDBFS, r.TruePeakDBTP = decibels(m.peaks.SamplePeak()), decibels(m.peaks.TruePeak())
	for c := range m.peaks.channels {
		r.ChannelSamplePeakDBFS = append(r.ChannelSamplePeakDBFS, decibels(m.peaks.ChannelSamplePeak(c)))
		r.ChannelTruePeakDBTP = append(r.ChannelTruePeakDBTP, decibels(m.peaks.ChannelTruePeak(c)))
	}
	return r
}

// lufs turns a weighted mean square into loudness; 0 gives minus infinity (BS.1770-5 Annex 1, equation 2).
func lufs(meanSquare float64) float64 {
	return -0.691 + 10*math.Log10(meanSquare)
}

// meanSquare is the inverse of lufs.
func meanSquare(lufs float64) float64 {
	return math.Pow(10, (lufs+0.691)/10)
}

// decibels turns an amplitude into dB re full scale; 0 gives minus infinity.
func decibels(amplitude float64) float64 {
	return 20 * math.Log10(amplitude)
}

// shortest returns the length of the shortest plane; 0 without planes.
func shortest(block [][]float32) int {
	if len(block) == 0 {
		return 0
	}
	n := len(block[0])
	for _, plane := range block[1:] {
		n = min(n, len(plane))
	}
	return n
}
