package stems

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"foldout/features"
)

const (
	passages      = 8
	passageBlocks = 4
	passageFrames = passageBlocks * BlockFrames // 0.7 s at 48 kHz
)

// evidence holds the passages in which the residual is strongest, one from each eighth of the session, so that causes can
// be tried out in memory.
type evidence struct {
	c      *comparison
	starts []int64 // frames of the comparison
	sum    stereo
	mix    stereo
	cands  []candidate
	all    int // index of the candidate that is the whole sum
}

// stereo is a pair of planes, the passages one after the other.
type stereo [2][]float32

// gather reads sum and mix in the passages, the mix later by lag frames.
func (c *comparison) gather(ctx context.Context, lag int) (*evidence, error) {
	e := &evidence{c: c, starts: c.choose()}
	var err error
	if e.sum, err = e.read(ctx, c.sum.Tracks, 0, 1/c.gain); err != nil {
		return nil, err
	}
	e.mix, err = e.read(ctx, c.mix.Tracks, lag, 1)
	return e, err
}

// choose picks the passages.
func (c *comparison) choose() (starts []int64) {
	n := len(c.residuals)
	for k := range passages {
		from, to := n*k/passages, n*(k+1)/passages
		best, at := 0.0, -1
		for i := from; i < to && (i+passageBlocks <= n || i == 0); i++ {
			var sum float64
			for _, v := range c.residuals[i:min(i+passageBlocks, n)] {
				sum += v
			}
			if sum > best {
				best, at = sum, i
			}
		}
		if at < 0 {
			continue
		}
		start := int64(at) * BlockFrames
		if last := len(starts) - 1; last >= 0 && start < starts[last]+passageFrames {
			start = starts[last] + passageFrames
		}
		starts = append(starts, start)
	}
	return starts
}

// read sums tracks over the passages moved by lag frames, times gain.
func (e *evidence) read(ctx context.Context, tracks []Track, lag int, gain float64) (stereo, error) {
	var out stereo
	for side := range out {
		out[side] = make([]float32, len(e.starts)*passageFrames)
	}
	m := Mix{Tracks: append([]Track{}, tracks...), gain: 1}
	ends := int64(0)
	for i := range m.Tracks {
		t := &m.Tracks[i]
		t.Offset -= int64(lag)
		ends = max(ends, t.Offset+t.Info.Frames)
	}
	m.Frames = max(ends, 0)
	return out, e.readMix(ctx, &m, out, gain)
}

// readMix streams a mix and keeps what falls into the passages. Tracks that begin before frame 0 are wound forward.
func (e *evidence) readMix(ctx context.Context, m *Mix, out stereo, gain float64) (err error) {
	s, err := m.Open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if err := s.wind(); err != nil {
		return err
	}
	block := [2][]float64{make([]float64, BlockFrames), make([]float64, BlockFrames)}
	for at := int64(0); ; {
		n, err := s.Read(block)
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		for k, start := range e.starts {
			from, to := max(start, at), min(start+passageFrames, at+int64(n))
			for f := from; f < to; f++ {
				for side := range out {
					out[side][int64(k)*passageFrames+f-start] = float32(gain * block[side][f-at])
				}
			}
		}
		at += int64(n)
		if err := ctx.Err(); err != nil {
			return err
		}
	}
}

// wind skips what lies before frame 0 in tracks with a negative offset.
func (s *Summer) wind() error {
	for _, src := range s.sources {
		for src.track.Offset < 0 && src.track.Info.Frames > 0 {
			n := int(min(-src.track.Offset, BlockFrames, src.track.Info.Frames))
			planes := [2][]float32{src.planes[0][:n], src.planes[1][:n]}
			got, err := src.reader.Read(planes[:src.track.Info.Channels])
			if err != nil {
				return err
			}
			src.track.Offset += int64(got)
			src.track.Info.Frames -= int64(got)
		}
	}
	return nil
}

// residual is sum minus mix, in double precision.
func (e *evidence) residual() (r [2][]float64) {
	for side := range r {
		r[side] = make([]float64, len(e.sum[side]))
		for i, v := range e.sum[side] {
			r[side][i] = float64(v) - float64(e.mix[side][i])
		}
	}
	return r
}

func square(x []float64) (sum float64) {
	for _, v := range x {
		sum += v * v
	}
	return sum
}

// level is the rms of both sides over the passages.
func (e *evidence) level(r [2][]float64) float64 {
	return rms(square(r[0])+square(r[1]), int64(len(r[0])))
}

// floor is the level below which float32 evidence proves nothing.
func (e *evidence) floor() float64 { return max(e.c.limit, -125) }

// candidate is something that a mix may have at another gain than the sum: a track, a pair, all that is centred.
type candidate struct {
	name    string
	kind    candidateKind
	nominal [2]float64 // gain in the stems by side
	planes  stereo     // at full level
	energy  [2]float64
	pair    int // of a track, and of a pair
	centred bool
}

type candidateKind int

const (
	oneTrack candidateKind = iota
	onePair
	allCentred
	allPairs
	onNoPair
)

// loadTracks reads all tracks over the passages, those on no pair too.
func (e *evidence) loadTracks(ctx context.Context) error {
	s := e.c.session
	centred := candidate{name: "the mono tracks in the centre", kind: allCentred, nominal: [2]float64{s.PanGain, s.PanGain}, planes: e.empty()}
	centredTracks := 0
	all := candidate{name: "everything", kind: allPairs, nominal: [2]float64{1, 1}, planes: e.sum}
	for _, m := range s.Mixes {
		pair := candidate{name: fmt.Sprintf("all of pair %d (%s)", m.Number, m.Name), kind: onePair, nominal: [2]float64{1, 1}, planes: e.empty(), pair: m.Number}
		for _, t := range m.Tracks {
			k, err := e.load(ctx, t, oneTrack)
			if err != nil {
				return err
			}
			k.pair, k.centred = m.Number, t.Pan == Centre
			for side := range k.planes {
				mix(pair.planes[side], k.planes[side], float32(k.nominal[side]))
				if t.Pan == Centre {
					mix(centred.planes[side], k.planes[side], 1)
				}
			}
			if t.Pan == Centre {
				centredTracks++
			}
			e.cands = append(e.cands, k)
		}
		if len(m.Tracks) > 1 {
			e.cands = append(e.cands, pair)
		}
	}
	if centredTracks > 1 {
		e.cands = append(e.cands, centred)
	}
	e.all = len(e.cands)
	e.cands = append(e.cands, all)
	for _, t := range append(append([]Track{}, s.Spare...), e.c.others()...) {
		k, err := e.load(ctx, t, onNoPair)
		if err != nil {
			return err
		}
		e.cands = append(e.cands, k)
	}
	for i := range e.cands {
		for side, plane := range e.cands[i].planes {
			for _, v := range plane {
				e.cands[i].energy[side] += float64(v) * float64(v)
			}
		}
	}
	return nil
}

func (e *evidence) empty() (s stereo) {
	for side := range s {
		s[side] = make([]float32, len(e.sum[side]))
	}
	return s
}

func mix(dst, src []float32, gain float32) {
	for i, v := range src {
		dst[i] += gain * v
	}
}

// load reads one track. A mono track is offered to both sides at full level, wherever it stands.
func (e *evidence) load(ctx context.Context, t Track, kind candidateKind) (candidate, error) {
	k := candidate{name: t.File, kind: kind, nominal: [2]float64{1, 1}}
	switch t.Pan {
	case Centre:
		k.nominal = [2]float64{e.c.session.PanGain, e.c.session.PanGain}
	case Left:
		k.nominal = [2]float64{1, 0}
	case Right:
		k.nominal = [2]float64{0, 1}
	}
	if t.level != nil {
		k.nominal, t.level = *t.level, nil
	}
	if kind == onNoPair {
		k.nominal = [2]float64{}
	}
	if t.Info.Channels == 1 {
		t.Pan = Centre
	}
	t.Offset += e.c.origin
	var err error
	if k.planes, err = e.read(ctx, []Track{t}, 0, 1); err != nil {
		return k, err
	}
	if t.Pan == Centre {
		k.planes[1] = k.planes[0] // one is enough
	}
	return k, nil
}

// mostOthers bounds the files of the folder that are tried although the sheet does not know them.
const mostOthers = 40

// others lists audio files in the session's folder that the sheet does not know, except stems and mix themselves.
func (c *comparison) others() (list []Track) {
	s := c.session
	known := map[string]bool{}
	s.each(func(t *Track) { known[t.Path] = true })
	for _, t := range s.Spare {
		known[t.Path] = true
	}
	paths, _, err := features.Find(s.Folder)
	if err != nil {
		return nil // a search for a bonus: without it the answer is only less complete
	}
	for _, path := range paths {
		if known[path] || c.isOwn(path) || len(list) >= mostOthers {
			continue
		}
		t, err := probe(path)
		if err != nil || !s.fits(t) {
			continue
		}
		if t.Info.Channels == 1 {
			t.Pan = Centre
		}
		if b := t.Info.Bext; b != nil && b.TimeReference > 0 && s.Start > 0 {
			t.Offset = b.TimeReference - s.Start
		}
		list = append(list, t)
	}
	return list
}

// isOwn tells whether a path is the mix or one of the stems.
func (c *comparison) isOwn(path string) bool {
	st, err := os.Stat(path)
	if err != nil {
		return false
	}
	for _, t := range append(append([]Track{}, c.sum.Tracks...), c.mix.Tracks...) {
		if own, err := os.Stat(t.Path); err == nil && os.SameFile(st, own) {
			return true
		}
	}
	return false
}
