package stems

import (
	"errors"
	"fmt"
	"io"
	"math"
	"sort"

	"foldout/features/wavfile"
)

const (
	placeGapS = 0.5  // stretches closer than this are one place
	mostOvers = 1000 // beyond this they are only counted
)

// Over is a place at which a sum exceeds a limit: stretches close to one another, and what causes the highest of them. A
// stretch is a run of frames without a gap in which either side is beyond the limit.
type Over struct {
	Frame     int64   // of the highest sample
	Stretches int     // 1 for a peak that lies between samples
	Frames    int64   // beyond the limit
	Side      int     // 0 left, 1 right
	Peak      float64 // its magnitude, full scale 1
	Causes    []Cause // tracks that pull the same way at that moment, the strongest first
	value     float64 // signed
	last      int64   // last frame beyond the limit
}

// Cause is one track's part in an over.
type Cause struct {
	File  string
	Share float64 // its sample, pan and all, over the sum's: 1 for all of it
}

// Overs watches a stereo sum for samples beyond a limit. Feed it with Watch.
type Overs struct {
	High      float64 // highest value that is still allowed
	Low       float64 // lowest
	List      []Over  // in time, at most mostOvers
	Stretches int     // in all places
	Frames    int64   // in all stretches
	Peak      float64 // highest magnitude of all samples
	gap       int64
	at        int64
	open      Over
	any       bool
}

// NewOvers watches for magnitudes above limit.
func NewOvers(limit float64, rateHz int) *Overs {
	return &Overs{High: limit, Low: -limit, gap: int64(placeGapS * float64(rateHz))}
}

// Watch looks at the next frames, planes of one length.
func (o *Overs) Watch(block [2][]float64) {
	peak := max(magnitude(block[0]), magnitude(block[1]))
	o.Peak = max(o.Peak, peak)
	if peak > min(o.High, -o.Low) {
		for i := range block[0] {
			for side, plane := range block {
				if v := plane[i]; v > o.High || v < o.Low {
					o.hit(o.at+int64(i), side, v)
				}
			}
		}
	}
	o.at += int64(len(block[0]))
}

func (o *Overs) hit(frame int64, side int, v float64) {
	if o.any && frame-o.open.last > o.gap {
		o.flush()
	}
	switch {
	case !o.any:
		o.any, o.open = true, Over{Frame: frame, Side: side, Peak: math.Abs(v), value: v, last: frame, Stretches: 1, Frames: 1}
		o.Stretches++
		o.Frames++
	case frame > o.open.last:
		if frame > o.open.last+1 {
			o.open.Stretches++
			o.Stretches++
		}
		o.open.Frames++
		o.Frames++
		o.open.last = frame
	}
	if a := math.Abs(v); a > o.open.Peak {
		o.open.Frame, o.open.Side, o.open.Peak, o.open.value = frame, side, a, v
	}
}

// Between adds a peak beyond the limit that lies between two samples, found by interpolation: peak is its magnitude, value
// the highest sample near it, at a frame watched already. Beside a stretch of samples it is part of that place.
func (o *Overs) Between(frame int64, side int, value, peak float64) {
	if o.any && frame-o.open.last > o.gap {
		o.flush()
	}
	if !o.any {
		o.any, o.open = true, Over{last: frame, Stretches: 1}
		o.Stretches++
	}
	if peak > o.open.Peak {
		o.open.Frame, o.open.Side, o.open.Peak, o.open.value = frame, side, peak, value
	}
}

func (o *Overs) flush() {
	if o.any && len(o.List) < mostOvers {
		o.List = append(o.List, o.open)
	}
	o.any = false
}

// Extent says in words how often and how long the sum is beyond the limit.
func (o *Overs) Extent(rateHz int) string {
	return OverWords(o.Stretches, float64(o.Frames)/float64(rateHz))
}

// OverWords says in words how often, and for how many seconds in all, a limit is exceeded.
func OverWords(stretches int, seconds float64) string {
	text := fmt.Sprintf("%d stretches", stretches)
	if stretches == 1 {
		text = "1 stretch"
	}
	return fmt.Sprintf("%s, %.3g ms in all", text, 1000*seconds)
}

// Done ends the last over. Call it when the sum is over.
func (o *Overs) Done() { o.flush() }

// magnitude is the largest magnitude, found four at a time.
func magnitude(x []float64) (peak float64) {
	var a, b, c, d float64
	i := 0
	for ; i+4 <= len(x); i += 4 {
		v := (*[4]float64)(x[i:])
		if m := math.Abs(v[0]); m > a {
			a = m
		}
		if m := math.Abs(v[1]); m > b {
			b = m
		}
		if m := math.Abs(v[2]); m > c {
			c = m
		}
		if m := math.Abs(v[3]); m > d {
			d = m
		}
	}
	for ; i < len(x); i++ {
		a = max(a, math.Abs(x[i]))
	}
	return max(a, b, c, d)
}

// Blame reads the tracks of the mix once more and fills in the causes of its overs.
func (m *Mix) Blame(list []Over) error {
	if len(list) == 0 {
		return nil
	}
	for i := range m.Tracks {
		if err := m.blame(&m.Tracks[i], list); err != nil {
			return err
		}
	}
	for i := range list {
		c := list[i].Causes
		sort.SliceStable(c, func(a, b int) bool { return c[a].Share > c[b].Share })
	}
	return nil
}

// blame looks up one track's samples at the overs, which are in order.
func (m *Mix) blame(t *Track, list []Over) (err error) {
	r, err := wavfile.Open(t.Path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	planes := make([][]float64, t.Info.Channels)
	for c := range planes {
		planes[c] = make([]float64, BlockFrames)
	}
	at := t.Offset
	for next := 0; next < len(list); {
		n, err := r.ReadFloat64(planes)
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		for ; next < len(list) && list[next].Frame < at+int64(n); next++ {
			o := &list[next]
			if o.Frame < at {
				continue // before the track begins
			}
			if share := m.reach(t, planes, int(o.Frame-at), o.Side) / o.value; share > 0 {
				o.Causes = append(o.Causes, Cause{File: t.File, Share: share})
			}
		}
		at += int64(n)
	}
	return nil
}

// reach is what frame i of a track adds to a side.
func (m *Mix) reach(t *Track, planes [][]float64, i, side int) float64 {
	switch {
	case t.Pan == Panned:
		return t.level[side] * planes[0][i]
	case t.level != nil:
		return t.level[side] * planes[side][i]
	case t.Pan == Centre:
		return m.gain * planes[0][i]
	case t.Pan == Stereo:
		return planes[side][i]
	case t.Pan == Left && side == 0, t.Pan == Right && side == 1:
		return planes[0][i]
	}
	return 0
}
