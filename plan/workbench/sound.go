package workbench

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"foldout/plan/channel"
	"foldout/plan/rig"
	"foldout/plan/stems"
)

// sound sums tracks for the page to play.
type sound struct {
	session *stems.Session
	made    time.Time

	mu      sync.Mutex
	mixes   map[string][]string // files of each mix that was asked for
	idle    []*opened           // sums that nobody reads, the longest unused first
	files   int                 // open in idle
	outline map[string][]int8   // overviews by mix and size
	closed  bool
}

// opened is a sum with its files open.
type opened struct {
	id  string
	mix *stems.Mix
	sum *stems.Summer
	at  int64
}

// mostOpen is how many files may stay open for sums that nobody reads at the moment.
const mostOpen = 400

// frameBytes is the size of a frame in the stream: two 32-bit floats, little-endian, left first.
const frameBytes = 8

// openSound readies the tracks for summing. Where that cannot be, the session works without sound and says why.
func (s *session) openSound() {
	var asked map[string][]string
	if s.sound != nil {
		asked = s.sound.close()
		s.sound = nil
	}
	s.mute = ""
	if s.away {
		s.mute = fmt.Sprintf("%s is not there any more. Put it back and this page goes on by itself, or open it where it is now; your steps stay in %s", s.folder, s.keep.path)
		return
	}
	if err := s.within(); err != nil {
		s.mute = err.Error()
		return
	}
	opened, err := stems.Open(s.doc, stems.Options{Folder: s.folder, PanGain: panGain(s.choice().Rig)})
	if err != nil {
		s.mute = err.Error()
		return
	}
	s.sound = &sound{session: opened, made: time.Now(), mixes: map[string][]string{}, outline: map[string][]int8{}}
	there := map[string]bool{}
	for _, t := range s.tracks {
		there[t.Profile.File] = true
	}
	for id, files := range asked { // what plays goes on, with the tracks that are still there
		if left := slices.DeleteFunc(files, func(f string) bool { return !there[f] }); len(left) > 0 {
			s.sound.mixes[id] = left
		}
	}
}

// panGain is the gain of a centred mono track to each side, 0 for that of a sheet without a rig.
func panGain(r *rig.Rig) float64 {
	if r == nil {
		return 0
	}
	return r.PanGain()
}

// within refuses tracks that are links to something outside the folder: the page is to hear the session and nothing else.
func (s *session) within() error {
	root, err := filepath.EvalSymlinks(s.folder)
	if err != nil {
		return err
	}
	for _, t := range s.tracks {
		real, err := filepath.EvalSymlinks(t.Path)
		if err != nil {
			return err
		}
		if rel, err := filepath.Rel(root, real); err != nil || !filepath.IsLocal(rel) {
			return fmt.Errorf("%s is a link that leads out of the folder; put the file itself there to hear it", t.Profile.File)
		}
	}
	return nil
}

// mix gives a set of tracks a name under which its sum can be read.
func (s *sound) mix(files []string) (string, error) {
	files = slices.Compact(slices.Sorted(slices.Values(files)))
	if _, err := s.session.Mixdown("", files); err != nil {
		return "", err
	}
	sum := sha256.Sum256([]byte(strings.Join(files, "\x00")))
	id := hex.EncodeToString(sum[:12])
	s.mu.Lock()
	defer s.mu.Unlock()
	s.mixes[id] = files
	return id, nil
}

var errNoMix = errors.New("there is no such mix")

// borrow opens the sum of a mix at a frame, or takes one that is idle, the one that is nearest before it.
func (s *sound) borrow(id string, at int64) (*opened, error) {
	s.mu.Lock()
	files, known := s.mixes[id]
	best := -1
	for i, o := range s.idle {
		if o.id == id && (best < 0 || o.at == at) {
			best = i
		}
	}
	if best >= 0 {
		o := s.idle[best]
		s.idle = slices.Delete(s.idle, best, best+1)
		s.files -= len(o.mix.Tracks)
		s.mu.Unlock()
		return o, nil
	}
	s.mu.Unlock()
	if !known {
		return nil, errNoMix
	}
	m, err := s.session.Mixdown(id, files)
	if err != nil {
		return nil, err
	}
	sum, err := m.Open()
	if err != nil {
		return nil, err
	}
	return &opened{id: id, mix: m, sum: sum}, nil
}

// give returns a sum that is not read any more; the longest unused are closed where too many files are open.
func (s *sound) give(o *opened) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	var errs []error
	s.idle = append(s.idle, o)
	s.files += len(o.mix.Tracks)
	for len(s.idle) > 0 && (s.closed || s.files > mostOpen) {
		s.files -= len(s.idle[0].mix.Tracks)
		errs = append(errs, s.idle[0].sum.Close())
		s.idle = s.idle[1:]
	}
	return errors.Join(errs...)
}

// close releases the files, and returns the mixes that were asked for.
func (s *sound) close() map[string][]string {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	for _, o := range s.idle {
		o.sum.Close() //nolint:errcheck // opened for reading
	}
	s.idle, s.files = nil, 0
	return s.mixes
}

// read fills dst with the frames from a place on.
func (o *opened) read(at int64, dst [2][]float64) (int, error) {
	if o.at != at {
		if err := o.sum.SeekFrame(at); err != nil {
			return 0, err
		}
		o.at = at
	}
	n, err := o.sum.Read(dst)
	o.at += int64(n)
	return n, err
}

// stream is a mix as a file of 32-bit floats that is made as it is read.
type stream struct {
	from  *opened
	size  int64
	pos   int64
	block [2][]float64
	bytes []byte // made and not yet given
	at    int64  // position of bytes
}

func newStream(o *opened) *stream {
	return &stream{from: o, size: o.mix.Frames * frameBytes, block: [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)}}
}

// Seek goes to a byte.
func (s *stream) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += s.pos
	case io.SeekEnd:
		offset += s.size
	}
	if offset < 0 {
		return 0, errors.New("before the start of the stream")
	}
	s.pos = offset
	return offset, nil
}

// Read makes the bytes from the present place on.
func (s *stream) Read(p []byte) (int, error) {
	if s.pos >= s.size {
		return 0, io.EOF
	}
	if s.pos < s.at || s.pos >= s.at+int64(len(s.bytes)) {
		if err := s.make(s.pos / frameBytes); err != nil {
			return 0, err
		}
	}
	n := copy(p, s.bytes[s.pos-s.at:])
	s.pos += int64(n)
	return n, nil
}

func (s *stream) make(frame int64) error {
	n, err := s.from.read(frame, s.block)
	if err != nil {
		return err
	}
	s.bytes = s.bytes[:0]
	for i := range n {
		for side := range s.block {
			s.bytes = binary.LittleEndian.AppendUint32(s.bytes, math.Float32bits(float32(s.block[side][i])))
		}
	}
	s.at = frame * frameBytes
	return nil
}

// serveSound answers with the sum of a mix, whole or in ranges.
func (s *sound) serveSound(w http.ResponseWriter, r *http.Request, id string) error {
	o, err := s.borrow(id, -1)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	http.ServeContent(w, r, "", s.made, newStream(o))
	return s.give(o)
}

// overview is the shape of a stretch of a mix: for each of its parts the lowest and the highest sample of both sides, of which 127 is
// full scale, or the furthest sample where that lies beyond. It reads the whole stretch, and lets what is heard go first.
func (s *sound) overview(ctx context.Context, floor *floor, id string, from, to int64, parts int) ([]int8, error) {
	frames := s.session.Frames
	from, to = max(0, from), min(to, frames)
	if parts < 1 || parts > 8000 || from >= to {
		return nil, fmt.Errorf("no overview of %d parts from %d to %d", parts, from, to)
	}
	key := fmt.Sprintf("%s %d %d %d", id, from, to, parts)
	s.mu.Lock()
	done := s.outline[key]
	s.mu.Unlock()
	if done != nil {
		return done, nil
	}
	o, err := s.borrow(id, from)
	if err != nil {
		return nil, err
	}
	low, high := make([]float64, parts), make([]float64, parts)
	block := [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)}
	for at := from; at < to; {
		floor.wait(ctx)
		n, err := o.read(at, block)
		if err = errors.Join(err, ctx.Err()); err != nil {
			return nil, errors.Join(err, s.give(o))
		}
		for i := range int(min(int64(n), to-at)) {
			part := int((at + int64(i) - from) * int64(parts) / (to - from))
			low[part] = min(low[part], block[0][i], block[1][i])
			high[part] = max(high[part], block[0][i], block[1][i])
		}
		at += int64(n)
	}
	top := max(1, slices.Max(high), -slices.Min(low))
	out := make([]int8, 0, 2*parts)
	for i := range low {
		out = append(out, int8(math.Round(127*low[i]/top)), int8(math.Round(127*high[i]/top)))
	}
	s.mu.Lock()
	if len(s.outline) > 400 {
		clear(s.outline)
	}
	s.outline[key] = out
	s.mu.Unlock()
	return out, s.give(o)
}

// Moments say of a mix what a soft channel needs to know: mean square and higher moments of the louder side's samples,
// and the share of a straight line in what the channel gives.
type Moments struct {
	RMS  float64 `json:"rms"`
	M2   float64 `json:"m2"`
	M3   float64 `json:"m3"`
	M4   float64 `json:"m4"`
	Peak float64 `json:"peak"`
	A2   float64 `json:"a2"` // the channel y = x + a2 x^2 + a3 x^3 of package channel, x = 1 at the peak of a sine at operating level
	A3   float64 `json:"a3"`
}

// moments reads a whole mix.
func (s *sound) moments(id string) (*Moments, error) {
	o, err := s.borrow(id, 0)
	if err != nil {
		return nil, err
	}
	block := [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)}
	var m2, m3, m4 [2]float64
	var peak float64
	for at := int64(0); at < o.mix.Frames; {
		n, err := o.read(at, block)
		if err != nil {
			return nil, errors.Join(err, s.give(o))
		}
		for side := range block {
			for _, v := range block[side][:n] {
				q := v * v
				m2[side] += q
				m3[side] += q * v
				m4[side] += q * q
				peak = max(peak, math.Abs(v))
			}
		}
		at += int64(n)
	}
	side := 0
	if m2[1] > m2[0] {
		side = 1
	}
	generic := channel.Generic()
	n := float64(max(o.mix.Frames, 1))
	return &Moments{RMS: math.Sqrt(m2[side] / n), M2: m2[side] / n, M3: m3[side] / n, M4: m4[side] / n, Peak: peak, A2: generic.A2, A3: generic.A3}, s.give(o)
}
