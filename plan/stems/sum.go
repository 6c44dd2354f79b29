package stems

import (
	"errors"
	"fmt"
	"io"

	"foldout/features/vec"
	"foldout/features/wavfile"
	"foldout/plan/sheet"
)

// BlockFrames is the number of frames summed at a time: the planes of a block stay in the second-level cache.
const BlockFrames = 8192

// OnGrid reports whether the sum holds multiples of 2^-23 only, so that 24 bits take it without rounding: PCM of at most
// 24 bits, and no mono track in the centre unless it is centred at full level.
func (m *Mix) OnGrid() bool { return m.onGrid(24) }

// onGrid is OnGrid for another number of bits.
func (m *Mix) onGrid(bits int) bool {
	for _, t := range m.Tracks {
		if t.Info.Float || t.Info.ContainerBits > bits || t.level != nil || t.Pan == Centre && m.gain != 1 {
			return false
		}
	}
	return true
}

// buses returns the mix cut into its buses, in the order of first use.
func (m *Mix) buses() []Mix {
	var list []Mix
	at := map[string]int{}
	for _, t := range m.Tracks {
		n, ok := at[t.Bus]
		if !ok {
			n = len(list)
			at[t.Bus] = n
			list = append(list, Mix{Number: m.Number, Name: t.Bus, Frames: m.Frames, gain: m.gain})
		}
		list[n].Tracks = append(list[n].Tracks, t)
	}
	return list
}

// sum is a block of summed samples: what reaches one side only, and what stands in the centre.
type sum struct {
	sides  [2][]float64
	centre []float64
}

func newSum(frames int) *sum {
	return &sum{sides: [2][]float64{make([]float64, frames), make([]float64, frames)}, centre: make([]float64, frames)}
}

func (s *sum) clear() {
	clear(s.sides[0])
	clear(s.sides[1])
	clear(s.centre)
}

// Summer streams the sum of a mix. It keeps all its files open and is used by one goroutine at a time.
type Summer struct {
	mix     *Mix
	sources []*source
	at      int64
	pair    *sum
	buses   []*sum // nil unless each bus is wanted as well
}

// Open opens all tracks of the mix. Close the Summer when done.
func (m *Mix) Open() (*Summer, error) { return m.openWith(nil) }

// openWith also sums each of the given buses, whose tracks are those of the mix.
func (m *Mix) openWith(buses []Mix) (_ *Summer, err error) {
	s := &Summer{mix: m, pair: newSum(BlockFrames)}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.Close())
		}
	}()
	bus := map[string]int{}
	for n, b := range buses {
		bus[b.Name] = n
		s.buses = append(s.buses, newSum(BlockFrames))
	}
	shared := [2][]float32{make([]float32, BlockFrames), make([]float32, BlockFrames)}
	var wide [2][]float64
	for i := range m.Tracks {
		t := &m.Tracks[i]
		r, err := wavfile.Open(t.Path)
		if err != nil {
			return s, err
		}
		src := &source{track: t, reader: r, planes: shared, bus: bus[t.Bus]}
		s.sources = append(s.sources, src)
		if now := r.Info(); now.Frames != t.Info.Frames || now.Channels != t.Info.Channels || now.SampleRateHz != t.Info.SampleRateHz {
			return s, fmt.Errorf("%s has changed since it was looked at a moment ago; wait until nothing writes to it", t.Path)
		}
		if src.double = t.Info.ContainerBits > 24 && !(t.Info.Float && t.Info.ContainerBits == 32); src.double {
			if wide[0] == nil {
				wide = [2][]float64{make([]float64, BlockFrames), make([]float64, BlockFrames)}
			}
			src.wide = wide
		}
	}
	return s, nil
}

// SeekFrame goes to a frame of the session, 0..Frames: the next Read begins there.
func (s *Summer) SeekFrame(frame int64) error {
	if frame < 0 || frame > s.mix.Frames {
		return fmt.Errorf("frame %d of %d", frame, s.mix.Frames)
	}
	for _, src := range s.sources {
		if err := src.reader.SeekFrame(min(max(frame-src.track.Offset, 0), src.track.Info.Frames)); err != nil {
			return err
		}
	}
	s.at = frame
	return nil
}

// Read fills both planes of dst, of one length of at most BlockFrames, with the next frames of left and right and
// returns how many they are: fewer than asked for only at the end, then 0 and io.EOF.
func (s *Summer) Read(dst [2][]float64) (int, error) {
	n := int(min(int64(len(dst[0])), int64(BlockFrames), s.mix.Frames-s.at))
	if n <= 0 {
		return 0, io.EOF
	}
	s.pair.clear()
	for _, b := range s.buses {
		b.clear()
	}
	for _, src := range s.sources {
		var bus *sum
		if s.buses != nil {
			bus = s.buses[src.bus]
		}
		if err := src.add(s.at, n, s.pair, bus); err != nil {
			return 0, err
		}
	}
	s.pair.settle(dst, n, s.mix.gain)
	s.at += int64(n)
	return n, nil
}

// bus gives the sum of bus b over the frames read last.
func (s *Summer) bus(b int, dst [2][]float64, frames int) {
	s.buses[b].settle(dst, frames, s.mix.gain)
}

// settle adds the centre to the sides.
func (s *sum) settle(dst [2][]float64, frames int, gain float64) {
	c := s.centre[:frames]
	l, r := s.sides[0][:len(c)], s.sides[1][:len(c)]
	outL, outR := dst[0][:len(c)], dst[1][:len(c)]
	for i, v := range c {
		v *= gain
		outL[i], outR[i] = l[i]+v, r[i]+v
	}
}

// Damage says, one sentence each, which tracks held samples so far that are no sound, how many, and as what they read.
func (s *Summer) Damage() (said []string) {
	for _, src := range s.sources {
		name := src.track.File
		if n := int(src.reader.NonFinite()); n > 0 {
			said = append(said, name+": "+sheet.Plural(n, "sample is no number (NaN or infinite) and counts", "samples are no numbers (NaN or infinite) and count")+" as silence; export the track again")
		}
		if n := int(src.reader.Wild()); n > 0 {
			said = append(said, name+": "+sheet.Plural(n, "sample lies", "samples lie")+" more than 400 dB above full scale, taken as full scale; export the track again")
		}
	}
	return said
}

// Close closes all files.
func (s *Summer) Close() error {
	var errs []error
	for _, src := range s.sources {
		errs = append(errs, src.reader.Close())
	}
	s.sources = nil
	return errors.Join(errs...)
}

// source is one track being read. Planes are shared by all tracks of a Summer.
type source struct {
	track  *Track
	reader *wavfile.Reader
	double bool // float32 does not hold its samples
	bus    int

	planes, cut   [2][]float32 // room for a block, and the part of it in use
	wide, cutWide [2][]float64
}

// add reads what falls into the n frames from frame at on and adds it to the sums of pair and bus; bus may be nil.
func (s *source) add(at int64, n int, pair, bus *sum) error {
	from := int(max(s.track.Offset-at, 0))
	to := int(min(s.track.Offset+s.track.Info.Frames-at, int64(n)))
	if from >= to {
		return nil
	}
	channels := s.track.Info.Channels
	var got int
	var err error
	if s.double {
		s.cutWide[0], s.cutWide[1] = s.wide[0][:to-from], s.wide[1][:to-from]
		got, err = s.reader.ReadFloat64(s.cutWide[:channels])
	} else {
		s.cut[0], s.cut[1] = s.planes[0][:to-from], s.planes[1][:to-from]
		got, err = s.reader.Read(s.cut[:channels])
	}
	if err != nil && err != io.EOF {
		return err
	}
	if got != to-from {
		return fmt.Errorf("%s became shorter while it was read", s.track.Path)
	}
	if s.double {
		spread(s.track, s.cutWide, pair, from, to)
		spread(s.track, s.cutWide, bus, from, to)
	} else {
		spread(s.track, s.cut, pair, from, to)
		spread(s.track, s.cut, bus, from, to)
	}
	return nil
}

// spread adds a block to where its pan sends it; dst may be nil.
func spread[T float32 | float64](t *Track, block [2][]T, dst *sum, from, to int) {
	switch {
	case dst == nil:
	case t.Pan == Panned:
		accumulateBy(dst.sides[0][from:to], block[0], t.level[0])
		accumulateBy(dst.sides[1][from:to], block[0], t.level[1])
	case t.level != nil:
		accumulateBy(dst.sides[0][from:to], block[0], t.level[0])
		accumulateBy(dst.sides[1][from:to], block[1], t.level[1])
	case t.Pan == Centre:
		accumulate(dst.centre[from:to], block[0])
	case t.Pan == Left:
		accumulate(dst.sides[0][from:to], block[0])
	case t.Pan == Right:
		accumulate(dst.sides[1][from:to], block[0])
	default:
		accumulate(dst.sides[0][from:to], block[0])
		accumulate(dst.sides[1][from:to], block[1])
	}
}

// accumulateBy adds src times a gain to dst.
func accumulateBy[T float32 | float64](dst []float64, src []T, gain float64) {
	if gain == 0 {
		return
	}
	dst = dst[:len(src)]
	for i, v := range src {
		dst[i] += gain * float64(v)
	}
}

// accumulate adds src to dst.
func accumulate[T float32 | float64](dst []float64, src []T) {
	if single, ok := any(src).([]float32); ok {
		vec.Accumulate(dst, single)
		return
	}
	dst = dst[:len(src)]
	for i, v := range src {
		dst[i] += float64(v)
	}
}
