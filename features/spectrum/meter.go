package spectrum

import "foldout/features/vec"

import (
	"cmp"
	"slices"
)

// Meter averages the power spectra of a track's frames (Welch), and measures the low end apart. Make one with New, feed
// it with the samples and through a Stream, then read Result:
//
//	meter := spectrum.New(48000, 2)
//	stream := spectrum.NewStream(48000, 2, meter)
//	meter.Write(planes)
//	stream.Write(planes)
//	stream.Close()
//	result := meter.Result()
type Meter struct {
	rate   int
	sum    []float64
	frames int64
	low    *lowEnd
}

// New returns a meter for tracks of a rate in hertz and a number of channels (both at least 1).
func New(sampleRateHz, channels int) *Meter {
	return &Meter{rate: sampleRateHz, sum: make([]float64, FrameSize(sampleRateHz)/2+1), low: newLowEnd(sampleRateHz, channels)}
}

// Write takes one plane of samples per channel, all of one length, for the low end. How a track is cut into blocks does
// not matter. Without samples the lowest bands are taken from the frames, whose bins are too wide for them.
func (m *Meter) Write(planes [][]float32) { m.low.write(planes) }

// Frame adds the power spectrum of one frame.
func (m *Meter) Frame(power []float32) {
	vec.Accumulate(m.sum, power)
	m.frames++
}

// Power returns the long-term power spectrum: the mean of all frames so far, one value per bin of
// rate/FrameSize(rate) Hz, one-sided, summing to the mean square of the track under its windows. All zeros without
// any frame.
func (m *Meter) Power() []float64 {
	power := make([]float64, len(m.sum))
	if m.frames == 0 {
		return power
	}
	for k, v := range m.sum {
		power[k] = v / float64(m.frames)
	}
	return power
}

// Result ends the measurement and gives the shape of the long-term spectrum: as Shape does, but that the octave bands up
// to 125 Hz and the sub register come from the low end, with which all octave bands meet class 1 of IEC 61260-1 (on steady
// tones, one octave and more away as well).
func (m *Meter) Result() Result {
	power := m.Power()
	if m.low.samples == 0 {
		return Shape(power, m.rate)
	}
	m.low.close()
	width := float64(m.rate) / float64(2*(len(power)-1))
	all := m.low.cells()
	for _, c := range cells(power, width, takeover) {
		if c.power > 0 || c.low > takeoverToHz {
			all = append(all, c)
		}
	}
	slices.SortStableFunc(all, func(a, b cell) int { return cmp.Compare(a.low, b.low) })
	return shape(power, width, all)
}
