package stems

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"

	"foldout/features"
	"foldout/features/wavfile"
)

// Null is the result of taking a mix away from the sum of the stems. Levels are plain rms over both sides, so that a
// full-scale sine reads -3.01 dBFS; null in JSON (minus infinity) where nothing is left at all.
type Null struct {
	Mix              string      `json:"mix"`
	ResidualRMSDBFS  features.DB `json:"residual_rms_dbfs"`
	ResidualPeakDBFS features.DB `json:"residual_peak_dbfs"`
	MixRMSDBFS       features.DB `json:"mix_rms_dbfs"`
	LimitDBFS        float64     `json:"limit_dbfs"` // a residual rms below this is a null
	Nulls            bool        `json:"nulls"`
	Reason           *Reason     `json:"reason,omitempty"` // why it does not null
	Notes            []string    `json:"notes"`
}

// Reason is the most likely cause of a residual.
type Reason struct {
	Kind     string      `json:"kind"` // see the constants
	Text     string      `json:"text"`
	Remains  features.DB `json:"remains_rms_dbfs"` // what would be left without it, in the passages looked at
	Tracks   []Fault     `json:"tracks,omitempty"`
	GainDB   [2]float64  `json:"gain_db"`       // of the mix against the sum, left and right; 0 where it is not the cause
	Samples  float64     `json:"delay_samples"` // by which the mix is late
	OctaveDB []Octave    `json:"residual_octaves,omitempty"`
}

// Kinds of reasons.
const (
	KindLength     = "length"
	KindClip       = "clipping"
	KindGain       = "gain"
	KindPolarity   = "polarity"
	KindSides      = "sides"
	KindShift      = "shift"
	KindTracks     = "tracks"
	KindDynamics   = "dynamics"
	KindFilter     = "filter"
	KindProcessing = "processing"
	KindOther      = "another mix"
)

// The limits of a null. Float and 24 bits are far above the rounding of a hundred stems; 16-bit mixes may be dithered
// and noise-shaped.
const (
	limitFloatDBFS = -130
	limit24DBFS    = -120
	limit16DBFS    = -80
)

// Against takes a mix away from the sum of the pairs' files, which are read back from where Write put them. The gain of
// the files is undone first, unless the mix carries the same gain. A mix that is not stereo or of another rate is an
// error.
func (s *Session) Against(ctx context.Context, w *Written, path string, progress func(done, total int64)) (*Null, error) {
	n, c, err := s.takeAway(ctx, w, path, w.GainDB, progress)
	if err != nil || n.Nulls {
		return n, err
	}
	if n.Reason, err = c.why(ctx); err != nil {
		return nil, err
	}
	if w.GainDB != 0 && n.Reason.Kind == KindGain && alike(n.Reason.GainDB, w.GainDB) {
		again, _, err := s.takeAway(ctx, w, path, 0, progress)
		if err != nil {
			return nil, err
		}
		if again.Nulls {
			again.Notes = append(again.Notes, fmt.Sprintf("the mix carries the same gain as the files, %+g dB", w.GainDB))
			return again, nil
		}
	}
	if w.GainDB != 0 {
		n.Notes = append(n.Notes, fmt.Sprintf("the gain of %+g dB of the files was undone before they were compared", w.GainDB))
	}
	return n, nil
}

func alike(gains [2]float64, gain float64) bool {
	const near = 0.01
	return math.Abs(gains[0]-gain) < near && math.Abs(gains[1]-gain) < near
}

// takeAway reads files and mix once, with a gain in dB undone.
func (s *Session) takeAway(ctx context.Context, w *Written, path string, gainDB float64, progress func(done, total int64)) (*Null, *comparison, error) {
	c, err := s.compare(w, path, gainDB)
	if err != nil {
		return nil, nil, err
	}
	if err := c.run(ctx, progress); err != nil {
		return nil, nil, err
	}
	return c.verdict(), c, nil
}

// CheckMix says whether a file can be compared with the session: readable, stereo, of its rate.
func (s *Session) CheckMix(path string) error {
	_, err := s.probeMix(path)
	return err
}

func (s *Session) probeMix(path string) (Track, error) {
	mix, err := probe(path)
	if err != nil {
		return mix, err
	}
	if mix.Info.Channels != 2 {
		return mix, fmt.Errorf("%s is not stereo (channels: %d); give a stereo mix", path, mix.Info.Channels)
	}
	if mix.Info.SampleRateHz != s.RateHz {
		return mix, fmt.Errorf("%s is at %d Hz, the tracks are at %d Hz; give a mix at their rate", path, mix.Info.SampleRateHz, s.RateHz)
	}
	return mix, nil
}

// comparison is the sum of the files on one side and the mix on the other.
type comparison struct {
	session *Session
	sum     Mix // of the files
	mix     Mix // the mix alone
	gain    float64
	limit   float64
	origin  int64 // frame of the comparison at which the session begins
	notes   []string

	frames       int64
	peak         float64
	ss, mm, sm   [2]float64   // sums of squares and products by side
	cross        [2]float64   // sum L with mix R, sum R with mix L
	rr           float64      // of the residual
	rrBoth       float64      // of the residual while both play
	rrClip       float64      // of the residual where the sum is beyond full scale
	residuals    []float64    // by block
	envelopes    [2][]float64 // of sum and mix, by envelopeFrames
	clippedInMix int64
	overlap      [2]int64
}

// envelopeFrames is the resolution of the search for long delays: about 5 ms.
const envelopeFrames = 256

// compare opens the files and places them in time.
func (s *Session) compare(w *Written, path string, gainDB float64) (*comparison, error) {
	c := &comparison{session: s, gain: math.Pow(10, gainDB/20), limit: limit24DBFS}
	for _, stem := range w.Stems {
		if stem.Bus != "" {
			continue
		}
		t, err := probe(stem.Path)
		if err != nil {
			return nil, err
		}
		if own := stem.GainDB - w.GainDB; own != 0 { // undo what the pair has beside the gain of all
			undo := math.Pow(10, -own/20)
			t.level = &[2]float64{undo, undo}
		}
		c.sum.Tracks = append(c.sum.Tracks, t)
	}
	mix, err := s.probeMix(path)
	if err != nil {
		return nil, err
	}
	switch {
	case mix.Info.BitDepth < 24 && !mix.Info.Float, w.Encoding == encoding16:
		c.limit = limit16DBFS
	case mix.Info.Float && w.Encoding == encodingFloat:
		c.limit = limitFloatDBFS
	}
	if b := mix.Info.Bext; b != nil && b.TimeReference > 0 && s.Start > 0 {
		at := b.TimeReference - s.Start
		if at > -mix.Info.Frames && at < s.Frames {
			mix.Offset = at
		} else {
			c.notes = append(c.notes, fmt.Sprintf("%s lies outside the session by its time reference; it is taken to begin with it", filepath.Base(path)))
		}
	}
	c.origin = max(0, -mix.Offset)
	mix.Offset += c.origin
	for i := range c.sum.Tracks {
		c.sum.Tracks[i].Offset = c.origin
	}
	c.frames = max(c.origin+s.Frames, mix.Offset+mix.Info.Frames)
	c.mix.Tracks = []Track{mix}
	c.sum.Frames, c.mix.Frames = c.frames, c.frames
	c.overlap = [2]int64{max(c.origin, mix.Offset), min(c.origin+s.Frames, mix.Offset+mix.Info.Frames)}
	return c, nil
}

// probe reads the header of a file that is no track.
func probe(path string) (Track, error) {
	info, err := wavfile.ReadInfo(path)
	return Track{File: filepath.Base(path), Path: path, Info: info}, err
}

// run reads both sides once and gathers sums.
func (c *comparison) run(ctx context.Context, progress func(done, total int64)) (err error) {
	sum, err := c.sum.Open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, sum.Close()) }()
	mix, err := c.mix.Open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, mix.Close()) }()
	var s, m [2][]float64
	for side := range s {
		s[side], m[side] = make([]float64, BlockFrames), make([]float64, BlockFrames)
	}
	for at := int64(0); ; {
		n, err := sum.Read(s)
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if _, err := mix.Read(m); err != nil {
			return err
		}
		c.add(at, [2][]float64{s[0][:n], s[1][:n]}, [2][]float64{m[0][:n], m[1][:n]})
		at += int64(n)
		if progress != nil {
			progress(at, c.frames)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
}

// nearFullScale is where a 16-bit file counts as at full scale.
const nearFullScale = 1 - 1.0/(1<<14)

func (c *comparison) add(at int64, s, m [2][]float64) {
	undo := 1 / c.gain
	var block float64
	for side := range s {
		x, y := s[side], m[side]
		other := m[1-side][:len(x)]
		y = y[:len(x)]
		var ss, mm, sm, cross, rr, both, clip float64
		for i, a := range x {
			a *= undo
			b := y[i]
			r := a - b
			ss += a * a
			mm += b * b
			sm += a * b
			cross += a * other[i]
			rr += r * r
			if v := math.Abs(r); v > c.peak {
				c.peak = v
			}
			if math.Abs(a) >= nearFullScale && math.Abs(b) >= 0.5 {
				clip += r * r
			}
			if math.Abs(b) >= nearFullScale {
				c.clippedInMix++
			}
			if f := at + int64(i); f >= c.overlap[0] && f < c.overlap[1] {
				both += r * r
			}
			x[i] = a
		}
		c.ss[side] += ss
		c.mm[side] += mm
		c.sm[side] += sm
		c.cross[side] += cross
		c.rrBoth += both
		c.rrClip += clip
		block += rr
	}
	c.rr += block
	c.residuals = append(c.residuals, block)
	for i := 0; i < len(s[0]); i += envelopeFrames {
		end := min(i+envelopeFrames, len(s[0]))
		c.envelopes[0] = append(c.envelopes[0], energy(s, i, end))
		c.envelopes[1] = append(c.envelopes[1], energy(m, i, end))
	}
}

func energy(x [2][]float64, from, to int) (sum float64) {
	for _, plane := range x {
		for _, v := range plane[from:to] {
			sum += v * v
		}
	}
	return math.Sqrt(sum)
}

// rms turns a sum of squares over n frames of two sides into dBFS.
func rms(square float64, n int64) float64 {
	return 10 * math.Log10(square/float64(2*max(n, 1)))
}

func (c *comparison) verdict() *Null {
	n := &Null{
		Mix: c.mix.Tracks[0].Path, LimitDBFS: c.limit, Notes: append([]string{}, c.notes...),
		ResidualRMSDBFS:  features.DB(rms(c.rr, c.frames)),
		ResidualPeakDBFS: features.DB(20 * math.Log10(c.peak)),
		MixRMSDBFS:       features.DB(rms(c.mm[0]+c.mm[1], c.frames)),
	}
	n.Nulls = float64(n.ResidualRMSDBFS) < c.limit
	return n
}
