package printcheck

import (
	"errors"
	"fmt"
	"io"
	"math"

	"foldout/features/resample"
	"foldout/features/wavfile"
)

// source reads a stereo file at any place; what lies outside the file is silence. A mono file sounds on both sides.
type source struct {
	r      *wavfile.Reader
	frames int64
	rate   int
	at     int64 // frame the reader stands at
	planes [][]float32
}

func open(path string) (*source, error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return nil, err
	}
	info := r.Info()
	s := &source{r: r, frames: info.Frames, rate: info.SampleRateHz}
	switch {
	case info.Channels > 2:
		err = fmt.Errorf("%s: found %d channels; compare takes a stereo (or mono) file", path, info.Channels)
	case info.Frames == 0:
		err = fmt.Errorf("%s: found no audio in it", path)
	}
	if err != nil {
		return nil, errors.Join(err, r.Close())
	}
	s.planes = make([][]float32, info.Channels)
	return s, nil
}

func (s *source) close() error { return s.r.Close() }

// read fills the two planes, of one length, with the frames from start on.
func (s *source) read(start int64, left, right []float32) error {
	n := int64(len(left))
	from, to := max(start, 0), min(start+n, s.frames)
	if from >= to {
		clear(left)
		clear(right)
		return nil
	}
	clear(left[:from-start])
	clear(left[to-start:])
	clear(right[:from-start])
	clear(right[to-start:])
	if s.at != from {
		if err := s.r.SeekFrame(from); err != nil {
			return err
		}
	}
	s.planes[0] = left[from-start : to-start]
	if len(s.planes) == 2 {
		s.planes[1] = right[from-start : to-start]
	}
	got, err := s.r.Read(s.planes)
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	if int64(got) < to-from {
		return fmt.Errorf("%s: the file ended at frame %d of %d while it was read", s.r.Info().Path, from+int64(got), s.frames)
	}
	s.at = to
	if len(s.planes) == 1 {
		copy(right[from-start:to-start], s.planes[0])
	}
	return nil
}

// line says where a mix frame lies in the print: print frame = offset + mix frame * step, both counted in frames of
// their own file.
type line struct{ offset, step float64 }

func (l line) at(mix float64) float64 { return l.offset + mix*l.step }

// exact reports whether print frames are copied as they are: nothing between samples has to be computed.
func (l line) exact() bool { return l.step == 1 && l.offset == math.Trunc(l.offset) }

// pairReader reads mix and print on the mix's clock.
type pairReader struct {
	mix, print *source
	kernel     *resample.Kernel
	span       [2][]float32
}

// openPair opens both files. The kernel is one for about the speed that will be asked for.
func openPair(mix, print string, k *resample.Kernel) (*pairReader, error) {
	m, err := open(mix)
	if err != nil {
		return nil, err
	}
	p, err := open(print)
	if err != nil {
		return nil, errors.Join(err, m.close())
	}
	return &pairReader{mix: m, print: p, kernel: k}, nil
}

func (p *pairReader) close() error { return errors.Join(p.mix.close(), p.print.close()) }

// readMix fills x with mix frames from start on.
func (p *pairReader) readMix(start int64, x [2][]float32) error {
	return p.mix.read(start, x[0], x[1])
}

// readPrint fills y with what the print holds, by the line, for the mix frames from start on.
func (p *pairReader) readPrint(start int64, l line, y [2][]float32) error {
	pos := l.at(float64(start))
	if l.exact() {
		return p.print.read(int64(pos), y[0], y[1])
	}
	if p.kernel.Step() != l.step {
		p.kernel = p.kernel.WithStep(l.step)
	}
	k := p.kernel
	first, length := k.Span(pos, len(y[0]))
	for c := range p.span {
		if cap(p.span[c]) < length {
			p.span[c] = make([]float32, length+length/8)
		}
		p.span[c] = p.span[c][:length]
	}
	if err := p.print.read(first, p.span[0], p.span[1]); err != nil {
		return err
	}
	k.Read(y[:], p.span[:], pos, first)
	return nil
}

// hann is the periodic Hann window.
func hann(n int) []float32 {
	w := make([]float32, n)
	for i := range w {
		s := math.Sin(math.Pi * float64(i) / float64(n))
		w[i] = float32(s * s)
	}
	return w
}
