package tones

import (
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"

	"foldout/features/atomicfile"
	"foldout/features/wavfile"
)

// Rates are the sample rates offered, in hertz.
var Rates = []int{44100, 48000, 88200, 96000, 176400, 192000}

// Options say how the files are written.
type Options struct {
	Dir      string
	RateHz   int // one of Rates
	Encoding wavfile.Encoding
	Quick    bool
	LevelDB  float64
	Force    bool
	Progress func(done, total int64)
}

// Level is how loud a part of the files is.
type Level struct {
	What     string  `json:"what"`
	DBFS     float64 `json:"dbfs"` // rms, full-scale sine = 0
	DBu      float64 `json:"dbu"`  // at the output
	PeakDBFS float64 `json:"peak_dbfs"`
}

// Levels lists how loud one output plays. Where the outputs differ in full scale, dBu is that of the first.
func (p *Plan) Levels() []Level {
	op, full := p.ToneDBFS(), p.Sends[0].FullScaleDBu
	level := func(what string, db, crest float64) Level { return Level{what, db, db + full, db + crest} }
	shared := togetherDB(len(p.Sends))
	many := 20 * math.Log10(math.Sqrt(MultitoneCount))
	return []Level{
		level("1 kHz, sweep and sync", op, 0),
		level("six tones at once", op, many),
		level("six tones, all outputs together", op+shared, many),
		level("long 1 kHz, all outputs together", op+shared, 0),
	}
}

// togetherDB is how far every output goes down when all play, so that a side adds up to operating level.
func togetherDB(outputs int) float64 { return -10 * math.Log10(max(1, float64(outputs)/2)) }

// Write writes the tones, the plan of them and the cautions into a folder, which is made if it is not there. Without Force
// nothing that exists is replaced. p is completed with rate, length and level.
func (p *Plan) Write(ctx context.Context, o Options) error {
	p.RateHz, p.Quick, p.LevelDB = o.RateHz, o.Quick, o.LevelDB
	program := p.Program()
	p.Frames = program.Frames
	for _, l := range p.Levels() {
		if l.PeakDBFS > 0 {
			return fmt.Errorf("at %+.4g dB the %s would peak at %+.1f dBFS; --level must be %.1f or less", p.LevelDB, l.What, l.PeakDBFS, math.Floor((p.LevelDB-l.PeakDBFS)*10)/10)
		}
	}
	names := append(p.Files(), PlanFile, CautionsFile)
	if !o.Force {
		for _, name := range names {
			if _, err := os.Lstat(filepath.Join(o.Dir, name)); err == nil {
				return fmt.Errorf("%s exists; give another folder, or --force to replace the tones in it", filepath.Join(o.Dir, name))
			}
		}
	}
	if err := os.MkdirAll(o.Dir, 0o755); err != nil {
		return err
	}
	text := func(name, text string) error {
		return atomicfile.Write(filepath.Join(o.Dir, name), atomicfile.Options{Replace: o.Force}, func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return err
		})
	}
	if err := text(CautionsFile, p.readMe()); err != nil { // first, so that no tones lie there without it
		return err
	}
	for n := 0; n < len(p.Sends); n += 2 {
		if err := p.writePair(ctx, program, n, o); err != nil {
			return err
		}
	}
	plan, err := p.encode()
	if err != nil {
		return err
	}
	return text(PlanFile, plan)
}

func (p *Plan) encode() (string, error) {
	var b strings.Builder
	e := newEncoder(&b)
	err := e.Encode(p)
	return b.String(), err
}

const block = 1 << 14

func (p *Plan) writePair(ctx context.Context, program *Program, n int, o Options) error {
	w, err := wavfile.Create(filepath.Join(o.Dir, p.Sends[n].File), wavfile.Format{SampleRateHz: p.RateHz, Channels: 2, Encoding: o.Encoding}, o.Force)
	if err != nil {
		return err
	}
	defer w.Abort() //nolint:errcheck // after Close it does nothing
	sound := [2]*Sound{p.Sound(n), p.Sound(n + 1)}
	rng := rand.New(rand.NewPCG(uint64(n), 61))
	planes := [][]float64{make([]float64, block), make([]float64, block)}
	for at := int64(0); at < p.Frames; at += block {
		if err := ctx.Err(); err != nil {
			return err
		}
		size := min(block, p.Frames-at)
		for side := range planes {
			planes[side] = planes[side][:size]
			sound[side].Read(planes[side], at)
			dither(planes[side], o.Encoding, rng)
		}
		if err := w.WriteFloat64(planes); err != nil {
			return err
		}
		if o.Progress != nil {
			o.Progress(int64(n/2)*p.Frames+at+size, int64(len(p.Sends)/2)*p.Frames)
		}
	}
	return w.Close()
}

// dither adds triangular noise of two steps of the format where there is sound. Silence stays digital zero: the sum of
// the dither of many outputs would be taken for the noise of the unit.
func dither(x []float64, e wavfile.Encoding, rng *rand.Rand) {
	step := 0.0
	switch e {
	case wavfile.PCM16:
		step = 1.0 / (1 << 15)
	case wavfile.PCM24:
		step = 1.0 / (1 << 23)
	default:
		return
	}
	for i, v := range x {
		if v != 0 {
			x[i] = v + step*(rng.Float64()-rng.Float64())
		}
	}
}
