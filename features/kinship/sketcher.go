package kinship

import (
	"math"
	"slices"

	"foldout/features/vec"
)

// Sketcher reduces one track to a Sketch. Feed it the samples with Write, in order and in blocks of any length, and
// the shared frame stream with Frame; then call Sketch once.
type Sketcher struct {
	sampleRateHz int
	channels     int
	started      bool
	samples      int64
	out          Sketch
	waves        *decimator // the mid, and the left for two channels and more
	mix          []float32
	piece        [2][]float32 // emphasised waveforms of the piece being gathered
	last         [2]float32
	at           int64 // absolute index of the next waveform sample
	spare        []Chunk
	edges        []int // band b of the envelope is the bins edges[b] .. edges[b+1]-1
	frameSize    int
	merge        int // frames of the stream per frame kept
	pending      [bands]float64
	nPending     int
}

// NewSketcher returns a sketcher for planes at the rate given. Rates and channel numbers below 1 count as 1.
func NewSketcher(sampleRateHz, channels int) *Sketcher {
	s := &Sketcher{sampleRateHz: max(sampleRateHz, 1), channels: max(channels, 1), merge: 1}
	s.out.Keep, s.out.Channels = 1, s.channels
	s.waves = newDecimator(s.sampleRateHz, min(s.channels, 2))
	for c := range s.waves.lanes {
		s.piece[c] = make([]float32, chunkSamples)
	}
	s.mix = make([]float32, unit)
	return s
}

// SetTimeReference says at which sample after the session's zero the file begins (the time reference of a bext
// chunk), so that files that start late are compared with what sounded at the same time. It must be called before
// the first Write; later calls are ignored, and so are negative values and those beyond 11 days.
func (s *Sketcher) SetTimeReference(samples int64) {
	if s.started || samples < 0 || float64(samples)/float64(s.sampleRateHz) >= longest {
		return
	}
	s.out.StartSeconds = float64(samples) / float64(s.sampleRateHz)
}

func (s *Sketcher) begin() {
	if s.started {
		return
	}
	s.started = true
	s.waves.startAt(s.out.StartSeconds)
	s.at = s.waves.next
}

// Write takes one plane per channel, all of the same length. Missing planes count as silence.
func (s *Sketcher) Write(block [][]float32) {
	if len(block) == 0 {
		return
	}
	s.begin()
	s.samples += int64(len(block[0]))
	for i := 0; i < len(block[0]); i += unit {
		n := min(unit, len(block[0])-i)
		left := block[0][i : i+n]
		if s.channels == 1 {
			s.waves.write(s.out.Keep, left)
		} else {
			s.waves.write(s.out.Keep, s.mid(block, i, n), left)
		}
		s.gather()
	}
}

// mid is the mean of all channels, n samples from i on.
func (s *Sketcher) mid(block [][]float32, i, n int) []float32 {
	mix := s.mix[:n]
	if len(block) == 2 && len(block[1]) >= i+n {
		vec.Average(mix, block[0][i:i+n], block[1][i:i+n])
		return mix
	}
	copy(mix, block[0][i:i+n])
	for _, plane := range block[1:] {
		for j, v := range plane[min(i, len(plane)):min(i+n, len(plane))] {
			mix[j] += v
		}
	}
	gain := 1 / float32(len(block))
	for j := range mix {
		mix[j] *= gain
	}
	return mix
}

// gather emphasises what the decimator gave and stores each piece that fills up.
func (s *Sketcher) gather() {
	lanes := s.waves.lanes
	for done, total := 0, len(lanes[0].out); done < total; {
		off := int(s.at % chunkSamples)
		n := min(total-done, chunkSamples-off)
		for c := range lanes {
			dst, last := s.piece[c][off:off+n], s.last[c]
			for i, v := range lanes[c].out[done : done+n] {
				dst[i] = v - emphasis*last
				last = v
			}
			s.last[c] = last
		}
		s.at += int64(n)
		done += n
		if off+n == chunkSamples {
			s.store(s.at/chunkSamples - 1)
		}
	}
}

// store keeps the piece just completed, if its turn comes and it sounds.
func (s *Sketcher) store(index int64) {
	if priority(index) < s.out.Keep {
		x := s.piece[0]
		if s.piece[1] != nil && meanSquare(x) < 0.02*meanSquare(s.piece[1]) {
			x = s.piece[1] // the channels cancel: one of them is upside down
		}
		if p := meanSquare(x); p > 0 && p < math.MaxFloat32 {
			if len(s.out.Chunks) == maxChunks {
				s.thin()
			}
			if priority(index) < s.out.Keep {
				s.append(index, x)
			}
		}
	}
	for _, p := range s.piece {
		clear(p)
	}
}

func (s *Sketcher) append(index int64, x []float32) {
	var c Chunk
	if n := len(s.spare); n > 0 {
		c, s.spare = s.spare[n-1], s.spare[:n-1]
	}
	c.Index = index
	c.encode(x)
	s.out.Chunks = append(s.out.Chunks, c)
}

// thin makes room: first the pieces without music go, then half of all pieces of the session's time.
func (s *Sketcher) thin() {
	s.dropFaint()
	for len(s.out.Chunks) == maxChunks {
		s.out.Keep *= sparseStride
		s.keep(func(c Chunk) bool { return priority(c.Index) < s.out.Keep })
	}
}

func (s *Sketcher) dropFaint() {
	var top float64
	for _, c := range s.out.Chunks {
		top = max(top, c.Power)
	}
	s.keep(func(c Chunk) bool { return c.Power > top*chunkFloor })
}

func (s *Sketcher) keep(ok func(Chunk) bool) {
	kept := s.out.Chunks[:0]
	for _, c := range s.out.Chunks {
		if ok(c) {
			kept = append(kept, c)
		} else {
			s.spare = append(s.spare, c)
		}
	}
	s.out.Chunks = kept
}

func meanSquare(x []float32) float64 {
	var a, b float32
	for i := 0; i+1 < len(x); i += 2 {
		a += x[i] * x[i]
		b += x[i+1] * x[i+1]
	}
	return float64(a+b) / float64(max(len(x), 1))
}

// Frame takes the one-sided power spectrum of one frame of the shared stream.
func (s *Sketcher) Frame(spectrum []float32) {
	if len(spectrum) < 2 {
		return
	}
	if n := 2 * (len(spectrum) - 1); n != s.frameSize {
		if s.frameSize != 0 {
			return // frames of one track have one size
		}
		s.frameSize = n
		s.edges = bandEdges(s.sampleRateHz, n)
	}
	for b := range bands {
		lo, hi := s.edges[b], s.edges[b+1]
		var p, q float32
		bins := spectrum[lo:hi]
		for ; len(bins) >= 2; bins = bins[2:] {
			p += bins[0]
			q += bins[1]
		}
		for _, v := range bins {
			p += v
		}
		s.pending[b] += float64(p + q)
	}
	s.nPending++
	if s.nPending == s.merge {
		s.push()
	}
}

func (s *Sketcher) push() {
	if s.out.Frames() == maxFrames {
		s.halve()
	}
	for b := range bands {
		s.out.Envelope = append(s.out.Envelope, envelopeCode(s.pending[b]/float64(s.nPending)))
		s.pending[b] = 0
	}
	s.nPending = 0
}

// halve merges the envelope's frames two by two.
func (s *Sketcher) halve() {
	env := s.out.Envelope
	for f := range maxFrames / 2 {
		for b := range bands {
			u, v := env[2*f*bands+b], env[(2*f+1)*bands+b]
			env[f*bands+b] = envelopeCode((envelopePower(u) + envelopePower(v)) / 2)
		}
	}
	s.out.Envelope = env[:maxFrames/2*bands]
	s.merge *= 2
}

// Sketch ends the track and returns what was kept. The sketcher must not be used afterwards.
func (s *Sketcher) Sketch() Sketch {
	s.begin()
	s.waves.finish(s.out.Keep)
	s.gather()
	if s.at%chunkSamples != 0 {
		s.store(s.at / chunkSamples)
	}
	s.dropFaint()
	s.out.Chunks = slices.Clip(s.out.Chunks)
	if s.nPending > 0 && s.out.Frames() > 0 {
		s.push()
	}
	s.out.DurationSeconds = float64(s.samples) / float64(s.sampleRateHz)
	if s.frameSize > 0 {
		s.out.HopSeconds = float64(s.frameSize/2*s.merge) / float64(s.sampleRateHz)
	}
	return s.out
}

func bandEdges(sampleRateHz, frameSize int) []int {
	top := frameSize/2 + 1
	width := float64(sampleRateHz) / float64(frameSize)
	edges := make([]int, bands+1)
	for b := range edges {
		f := bandLowHz * math.Pow(bandHighHz/bandLowHz, float64(b)/bands)
		edges[b] = min(top, max(1, int(math.Round(f/width))))
	}
	return edges
}

func envelopeCode(p float64) uint8 {
	if !(p > 0) {
		return 0
	}
	c := (10*math.Log10(p)-codeFloorDB)*codesPerDB + 0.5
	return uint8(min(max(c, 0), 255))
}

func envelopePower(c uint8) float64 { return decoded[c] }

// decoded holds the power each envelope code stands for; code 0 is silence.
var decoded = func() (t [256]float64) {
	for c := 1; c < len(t); c++ {
		t[c] = math.Pow(10, (float64(c)/codesPerDB+codeFloorDB)/10)
	}
	return t
}()
