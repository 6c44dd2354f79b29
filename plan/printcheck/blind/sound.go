package blind

import (
	"bytes"
	crand "crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"

	"foldout/features/loudness"
	"foldout/features/wavfile"
)

// MatchLU is how far apart the two may be in loudness: 0.1 LU, as tests have been matched since Clark, JAES 30(5), 1982.
const MatchLU = 0.1

// Longest and shortest excerpt in seconds. ITU-R BS.1116 asks for 10 to 25 s.
const (
	LongestS  = 120.0
	ShortestS = 0.5
)

// Excerpts are the two sounds of a test, equally long and equally loud.
type Excerpts struct {
	NameA, NameB string
	RateHz       int
	Frames       int
	// GainDB is what B was turned by (negative) or A was (positive) so that both are equally loud: the louder one always
	// goes down.
	GainDB  float64
	ApartLU float64 // what is left
	Notes   []string

	dir   string // where results are kept
	sound [2][][]float32
}

// Open reads two WAV files and matches them. Errors name the file and say what to do.
func Open(a, b string) (*Excerpts, error) {
	x, err := read(a)
	if err != nil {
		return nil, err
	}
	y, err := read(b)
	if err != nil {
		return nil, err
	}
	if x.rate != y.rate {
		return nil, fmt.Errorf("%s is at %d Hz, %s at %d Hz; foldout compare MIX PRINT --out DIR makes two that fit", a, x.rate, b, y.rate)
	}
	e := &Excerpts{NameA: filepath.Base(a), NameB: filepath.Base(b), RateHz: x.rate, dir: filepath.Dir(a)}
	e.Frames = min(len(x.planes[0]), len(y.planes[0]))
	if n := max(len(x.planes[0]), len(y.planes[0])); n != e.Frames {
		e.Notes = append(e.Notes, fmt.Sprintf("the two differ in length by %.2f s; the end of the longer one is left out", float64(n-e.Frames)/float64(x.rate)))
	}
	for i, s := range []*sound{x, y} {
		for c := range s.planes {
			s.planes[c] = s.planes[c][:e.Frames]
		}
		e.sound[i] = s.planes
	}
	return e, e.match(a, b)
}

type sound struct {
	rate   int
	planes [][]float32
}

func read(path string) (*sound, error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return nil, err
	}
	defer r.Close() //nolint:errcheck // opened for reading
	info := r.Info()
	length := float64(info.Frames) / float64(info.SampleRateHz)
	switch {
	case info.Channels > 2:
		return nil, fmt.Errorf("%s: found %d channels; a listening test takes stereo or mono", path, info.Channels)
	case length > LongestS:
		return nil, fmt.Errorf("%s: found %.0f s; excerpts of 10 to 25 s are best and %.0f s the most: foldout compare MIX PRINT --out DIR writes them", path, length, LongestS)
	case length < ShortestS:
		return nil, fmt.Errorf("%s: found %.2f s; at least %.1f s are needed", path, length, ShortestS)
	}
	planes := make([][]float32, info.Channels)
	for c := range planes {
		planes[c] = make([]float32, info.Frames)
	}
	if _, err := r.Read(planes); err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	if len(planes) == 1 {
		planes = append(planes, planes[0])
	}
	return &sound{info.SampleRateHz, planes}, nil
}

// loud is the integrated loudness, or the plain power where the gates let nothing through.
func loud(planes [][]float32, rate int) float64 {
	m := loudness.New(rate, len(planes))
	m.Write(planes)
	if l := m.Result().IntegratedLUFS; !math.IsInf(l, 0) {
		return l
	}
	var sum float64
	for _, p := range planes {
		for _, v := range p {
			sum += float64(v) * float64(v)
		}
	}
	return -0.691 + 10*math.Log10(sum/float64(len(planes[0])))
}

// match turns the louder of the two down.
func (e *Excerpts) match(a, b string) error {
	for i, path := range []string{a, b} {
		if math.IsInf(loud(e.sound[i], e.RateHz), 0) {
			return fmt.Errorf("%s: found only silence", path)
		}
	}
	difference := loud(e.sound[1], e.RateHz) - loud(e.sound[0], e.RateHz)
	if math.Abs(difference) > 0.005 {
		e.GainDB = -difference
		which := 1
		if difference < 0 {
			which = 0
		}
		e.sound[which] = turned(e.sound[which], -math.Abs(difference))
		if math.Abs(difference) > MatchLU {
			e.Notes = append(e.Notes, fmt.Sprintf("%s was %.2f LU louder and has been turned down", [2]string{e.NameA, e.NameB}[which], math.Abs(difference)))
		}
	}
	e.ApartLU = loud(e.sound[1], e.RateHz) - loud(e.sound[0], e.RateHz)
	if math.Abs(e.ApartLU) > MatchLU {
		return fmt.Errorf("%s and %s cannot be brought to equal loudness (%.2f LU are left)", a, b, e.ApartLU)
	}
	return nil
}

func turned(planes [][]float32, db float64) [][]float32 {
	g := float32(math.Pow(10, db/20))
	out := make([][]float32, len(planes))
	for c, p := range planes {
		out[c] = make([]float32, len(p))
		for i, v := range p {
			out[c][i] = g * v
		}
	}
	return out
}

// outline is the peak of both excerpts in n parts, 0..1, to draw.
func (e *Excerpts) outline(n int) []float64 {
	out := make([]float64, n)
	top := 1e-9
	for i := range out {
		from, to := i*e.Frames/n, max((i+1)*e.Frames/n, i*e.Frames/n+1)
		for _, s := range e.sound {
			for _, p := range s {
				for _, v := range p[from:min(to, e.Frames)] {
					out[i] = math.Max(out[i], math.Abs(float64(v)))
				}
			}
		}
		top = math.Max(top, out[i])
	}
	for i := range out {
		out[i] /= top
	}
	return out
}

// wav encodes one of the two as a 24-bit WAV file, with dither that is new each time.
func (e *Excerpts) wav(which int) ([]byte, error) {
	var seed [32]byte
	if _, err := crand.Read(seed[:]); err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewChaCha8(seed))
	const bytesPerFrame = 6
	var b bytes.Buffer
	data := e.Frames * bytesPerFrame
	b.Grow(44 + data)
	head := []any{
		[4]byte{'R', 'I', 'F', 'F'}, uint32(36 + data), [8]byte{'W', 'A', 'V', 'E', 'f', 'm', 't', ' '}, uint32(16), uint16(1), uint16(2),
		uint32(e.RateHz), uint32(e.RateHz * bytesPerFrame), uint16(bytesPerFrame), uint16(24), [4]byte{'d', 'a', 't', 'a'}, uint32(data),
	}
	for _, h := range head {
		if err := binary.Write(&b, binary.LittleEndian, h); err != nil {
			return nil, err
		}
	}
	const full = 1<<23 - 1
	for i := range e.Frames {
		for c := range 2 {
			v := float64(e.sound[which][c][i])*full + rng.Float64() - rng.Float64()
			s := int32(math.Round(math.Max(-full-1, math.Min(full, v))))
			b.Write([]byte{byte(s), byte(s >> 8), byte(s >> 16)})
		}
	}
	return b.Bytes(), nil
}
