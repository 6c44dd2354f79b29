package spectrum

// Meter averages the power spectra of a track's frames (Welch). Make one with New, feed it through a Stream, then
// read Result:
//
//	meter := spectrum.New(48000, 2)
//	stream := spectrum.NewStream(48000, 2, meter)
//	stream.Write(planes)
//	stream.Close()
//	result := meter.Result()
type Meter struct {
	rate   int
	sum    []float64
	frames int64
}

// New returns a meter for tracks at sampleRateHz. The number of channels makes no difference, as frames are averaged
// over the channels before they arrive here.
func New(sampleRateHz, _ int) *Meter {
	return &Meter{rate: sampleRateHz, sum: make([]float64, FrameSize(sampleRateHz)/2+1)}
}

// Frame adds the power spectrum of one frame.
func (m *Meter) Frame(power []float32) {
	sum := m.sum[:len(power)]
	for k, p := range power {
		sum[k] += float64(p)
	}
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

// Result measures the shape of the long-term spectrum. See Shape.
func (m *Meter) Result() Result { return Shape(m.Power(), m.rate) }
