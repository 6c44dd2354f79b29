package steps

import (
	"context"
	"errors"
	"io"
	"math"

	"foldout/features"
	"foldout/plan/levels"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// Ends says where the sound of all tracks together begins and ends, in seconds from the start of the earliest track: the
// first and the last sample within 60 dB of the highest. 60 dB is the fall by which ISO 3382 measures reverberation.
type Ends struct {
	FirstS float64     `json:"first_sound_s"`
	LastS  float64     `json:"last_sound_s"`
	CutDB  features.DB `json:"cut_db"` // how far below the highest peak the last 50 ms lie; little: the tail is cut off
}

const (
	tailDB    = 60.0
	lastPartS = 0.05
)

// FindEnds reads the tracks from both ends on, as far as it has to. The sum's highest sample is that of levels.Measure with
// the same options. Nil for a session without sound. Errors are those of reading.
func FindEnds(ctx context.Context, doc *sheet.Sheet, l *levels.Levels, panGain float64, opt levels.Options) (*Ends, error) {
	peak := math.Pow(10, float64(l.Total.SamplePeakDBFS)/20)
	if !(peak > 0) || math.IsInf(peak, 0) {
		return nil, nil
	}
	session, err := stems.Open(doc, stems.Options{Folder: opt.Folder, PanGain: panGain, SameStart: opt.SameStart})
	if err != nil {
		return nil, err
	}
	var files []string
	for _, p := range doc.Pairs {
		for _, t := range p.Tracks {
			files = append(files, t.File)
		}
	}
	mix, err := session.Mixdown("all", files)
	if err != nil {
		return nil, err
	}
	sum, err := mix.Open()
	if err != nil {
		return nil, err
	}
	e, err := find(ctx, sum, session.Frames, session.RateHz, peak)
	return e, errors.Join(err, sum.Close())
}

func find(ctx context.Context, sum *stems.Summer, frames int64, rate int, peak float64) (*Ends, error) {
	at := func(start, length int64) ([2][]float64, error) {
		b := [2][]float64{make([]float64, length), make([]float64, length)}
		if err := ctx.Err(); err != nil {
			return b, err
		}
		if err := sum.SeekFrame(start); err != nil {
			return b, err
		}
		for done := int64(0); done < length; {
			n, err := sum.Read([2][]float64{b[0][done:min(length, done+stems.BlockFrames)], b[1][done:min(length, done+stems.BlockFrames)]})
			if err != nil && !errors.Is(err, io.EOF) {
				return b, err
			}
			if n == 0 {
				return b, io.ErrUnexpectedEOF
			}
			done += int64(n)
		}
		return b, nil
	}
	limit := peak * math.Pow(10, -tailDB/20)
	e := &Ends{}
	part := max(1, min(frames, int64(lastPartS*float64(rate))))
	b, err := at(frames-part, part)
	if err != nil {
		return nil, err
	}
	most := 0.0
	for i := range b[0] {
		most = max(most, math.Abs(b[0][i]), math.Abs(b[1][i]))
	}
	e.CutDB = features.DB(20 * math.Log10(peak/most))
	for start := int64(0); start < frames; start += stems.BlockFrames {
		if b, err = at(start, min(stems.BlockFrames, frames-start)); err != nil {
			return nil, err
		}
		if i := loud(b, limit, false); i >= 0 {
			e.FirstS = float64(start+int64(i)) / float64(rate)
			break
		}
	}
	for end := frames; end > 0; end -= min(end, stems.BlockFrames) {
		start := max(0, end-stems.BlockFrames)
		if b, err = at(start, end-start); err != nil {
			return nil, err
		}
		if i := loud(b, limit, true); i >= 0 {
			e.LastS = float64(start+int64(i)+1) / float64(rate)
			break
		}
	}
	return e, nil
}

// loud is the first or the last frame beyond a limit, -1 for none.
func loud(b [2][]float64, limit float64, last bool) int {
	for k := range b[0] {
		i := k
		if last {
			i = len(b[0]) - 1 - k
		}
		if max(math.Abs(b[0][i]), math.Abs(b[1][i])) > limit {
			return i
		}
	}
	return -1
}

// Print is how long to record. The print holds at least all of the tracks.
type Print struct {
	RateHz  int     `json:"sample_rate_hz"`
	TracksS float64 `json:"tracks_s"`
	*Ends
	BeforeS   float64     `json:"record_before_s"` // ahead of the tracks
	AfterS    float64     `json:"record_after_s"`  // beyond them, for tails and for what the loop is late
	RecordS   float64     `json:"record_s"`        // in all
	LatencyMS features.DB `json:"latency_ms"`      // as the last line check had it; null without one
}

// The recording's rest on either side: what a hand needs before, and for a tail of a few seconds after (common practice).
const (
	beforeS = 2.0
	afterS  = 5.0
)

// length works out how long to print.
func (m *maker) length() {
	if m.Levels == nil || m.Ends == nil {
		return
	}
	p := &Print{RateHz: m.Levels.RateHz, TracksS: m.Levels.DurationS, Ends: m.Ends, BeforeS: beforeS, AfterS: afterS, LatencyMS: features.DB(math.NaN())}
	p.RecordS = math.Ceil(p.BeforeS + p.TracksS + p.AfterS)
	if b := m.Baseline; b != nil && b.SampleRateHz > 0 {
		p.LatencyMS = 1000 * b.LatencySamples / features.DB(b.SampleRateHz)
	}
	m.list.Print = p
}
