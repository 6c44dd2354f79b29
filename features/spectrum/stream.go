// Package spectrum makes the frame stream all spectral measures of a track are read from, and measures the shape of
// the long-term spectrum.
//
// In go planes of samples (full scale = 1), out come power spectra frame by frame (Stream) and one Result for the
// whole track (Meter): frequencies in hertz, band levels in decibels relative to the total, shares 0..1.
//
// The frames are those of Welch 1967 (IEEE Trans. Audio Electroacoust. AU-15): periodic Hann window, half overlap,
// averaged power. Shape measures after Peeters 2004 (A large set of audio features, CUIDADO report) on power,
// octave bands after IEC 61260-1:2014.
package spectrum

import (
	"math"

	"github.com/mjibson/go-dsp/window"

	"foldout/features/fft"
)

// A Consumer is fed with the power spectrum of every frame.
type Consumer interface {
	// Frame takes the one-sided power of one frame, averaged over the channels: power[k], k = 0..FrameSize/2, belongs
	// to k*rate/FrameSize Hz, and the sum over k is the mean square of the frame under its window (a full-scale sine
	// sums to 0.5). A frame of digital silence is all zeros. The slice is valid only during the call.
	Frame(power []float32)
}

// FrameSize returns the number of samples in a frame at a sample rate in hertz: 4096 from 25 kHz up to 50 kHz,
// doubled for each doubling of the rate above and halved for each halving below, so that bins are 6 to 12 Hz wide
// and frames last 82 to 164 ms at any rate. Never less than 64.
func FrameSize(sampleRateHz int) int {
	n := 4096
	for limit := 50000; sampleRateHz > limit && n < 1<<20; limit *= 2 {
		n *= 2
	}
	for limit := 25000.0; float64(sampleRateHz) < limit && n > 64; limit /= 2 {
		n /= 2
	}
	return n
}

// Stream cuts samples into half-overlapping frames and hands the power spectrum of each to its consumers, in order.
//
// Frame i starts at sample i*FrameSize/2. Samples after the last whole frame are left out, as Welch has it; only a
// file shorter than one frame is taken as a single frame under a Hann window of its own length (with no zero at its
// ends, so a file of one sample counts too), padded with zeros.
type Stream struct {
	size, hop, channels int
	consumers           []Consumer
	fft                 *fft.FFT
	window              []float32 // scaled so that frame powers need no further factor
	buffer              [][]float32
	silence             []float32
	fill                int
	frames              int64
	power, second       []float32
}

// NewStream returns a stream for samples at sampleRateHz in the given number of channels (both at least 1).
func NewStream(sampleRateHz, channels int, consumers ...Consumer) *Stream {
	size := FrameSize(sampleRateHz)
	s := &Stream{
		size: size, hop: size / 2, channels: channels, consumers: consumers,
		fft:     fft.New(size),
		silence: make([]float32, size),
		power:   make([]float32, size/2+1),
		second:  make([]float32, size/2+1),
		buffer:  make([][]float32, channels),
	}
	// The library's window is the symmetric one; one point more, less its last, is the periodic one. It is made once
	// a track, so only its values matter.
	s.window = scaledWindow(window.Hann(size + 1)[:size], channels)
	length := size
	if channels == 1 {
		length += s.hop // room for the two successive frames that share a transform
	}
	for c := range s.buffer {
		s.buffer[c] = make([]float32, length)
	}
	return s
}

// scaledWindow folds the factor 1/(channels * size * sum w^2) of the frame power into a window.
func scaledWindow(w []float64, channels int) []float32 {
	var sum float64
	for _, v := range w {
		sum += v * v
	}
	factor := 1 / math.Sqrt(float64(channels)*float64(len(w))*sum)
	out := make([]float32, len(w))
	for i, v := range w {
		out[i] = float32(v * factor)
	}
	return out
}

// Reset prepares the stream for another track of the same rate and number of channels.
func (s *Stream) Reset(consumers ...Consumer) {
	s.consumers, s.fill, s.frames = consumers, 0, 0
}

// Write takes one plane of samples per channel, all of one length. How a track is cut into blocks does not matter.
func (s *Stream) Write(planes [][]float32) {
	length := len(s.buffer[0])
	for at, n := 0, len(planes[0]); at < n; {
		k := min(n-at, length-s.fill)
		for c, plane := range planes {
			copy(s.buffer[c][s.fill:], plane[at:][:k])
		}
		at += k
		s.fill += k
		if s.fill == length {
			s.process()
		}
	}
}

// Close delivers what is still to come after the last Write: a pending frame, or the frame of a very short file.
func (s *Stream) Close() {
	switch {
	case s.fill >= s.size && s.channels == 1:
		s.single(s.window)
	case s.frames == 0 && s.fill > 0:
		w := make([]float64, s.size)
		for i := range w[:s.fill] {
			sine := math.Sin(math.Pi * (float64(i) + 0.5) / float64(s.fill))
			w[i] = sine * sine
		}
		for _, b := range s.buffer {
			clear(b[s.fill:])
		}
		s.single(scaledWindow(w, s.channels))
	}
	s.fill = 0
}

// process turns a full buffer into its frames and moves the rest to the front.
func (s *Stream) process() {
	step := s.hop
	if s.channels == 1 {
		s.double()
		step = s.size
	} else {
		s.single(s.window)
	}
	for _, b := range s.buffer {
		copy(b, b[step:])
	}
	s.fill -= step
}

// double makes two successive frames of one channel with one transform.
func (s *Stream) double() {
	a, b := s.buffer[0][:s.size], s.buffer[0][s.hop:]
	silentA, silentB := silent(a), silent(b)
	switch {
	case silentA && silentB:
		clear(s.power)
		clear(s.second)
	case silentB:
		s.pair(a, s.silence, s.window, s.power, false)
		clear(s.second)
	case silentA:
		clear(s.power)
		s.pair(b, s.silence, s.window, s.second, false)
	default:
		s.fft.Transform(a, b, s.window)
		s.fft.Powers(s.power, s.second)
	}
	s.deliver(s.power)
	s.deliver(s.second)
}

// single makes one frame of all channels, two to a transform.
func (s *Stream) single(window []float32) {
	added := false
	for c := 0; c < s.channels; c += 2 {
		a, b := s.buffer[c][:s.size], s.silence
		if c+1 < s.channels {
			b = s.buffer[c+1][:s.size]
		}
		if silent(a) && silent(b) {
			continue
		}
		s.pair(a, b, window, s.power, added)
		added = true
	}
	if !added {
		clear(s.power)
	}
	s.deliver(s.power)
}

// pair sets (or adds to) the power of two channels.
func (s *Stream) pair(a, b, window []float32, power []float32, add bool) {
	s.fft.Transform(a, b, window)
	s.fft.Power(power, add)
}

func (s *Stream) deliver(power []float32) {
	s.frames++
	for _, c := range s.consumers {
		c.Frame(power)
	}
}

func silent(x []float32) bool {
	for _, v := range x {
		if v != 0 {
			return false
		}
	}
	return true
}
