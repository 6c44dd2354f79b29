package features

import (
	"context"
	"errors"
	"io"
	"math"
	"path/filepath"

	"foldout/features/dynamics"
	"foldout/features/kinship"
	"foldout/features/loudness"
	"foldout/features/spectrum"
	"foldout/features/timbre"
	"foldout/features/wavfile"
)

// blockSamples is the length of the blocks a file is read in: small enough that a block and all that is done with it
// stays in the second-level cache.
const blockSamples = 4096

// pass holds what one worker uses again for each of its files.
type pass struct {
	samples []float32
	planes  [][]float32
	streams map[[2]int]*spectrum.Stream // by rate and channels
}

// prepare makes planes for a block and a stream of the given kind.
func (p *pass) prepare(rate, channels int) *spectrum.Stream {
	if len(p.samples) < channels*blockSamples {
		p.samples = make([]float32, channels*blockSamples)
	}
	p.planes = p.planes[:0]
	for c := range channels {
		p.planes = append(p.planes, p.samples[c*blockSamples:][:blockSamples])
	}
	kind := [2]int{rate, channels}
	stream, ok := p.streams[kind]
	if !ok {
		// A session has one rate and two or three numbers of channels; more kinds than a few are not worth keeping.
		if len(p.streams) >= 4 || p.streams == nil {
			p.streams = map[[2]int]*spectrum.Stream{}
		}
		stream = spectrum.NewStream(rate, channels)
		p.streams[kind] = stream
	}
	return stream
}

// meters are the measuring instruments of one file.
type meters struct {
	loudness *loudness.Meter
	dynamics *dynamics.Meter
	timbre   *timbre.Meter
	spectrum *spectrum.Meter
	stereo   stereoMeter
	sketcher *kinship.Sketcher // nil without a sketch
}

// startOf is where somebody says that a file begins, in samples after the session's zero.
type startOf struct {
	at   int64
	told bool
}

// measure runs the pass over one file. It calls progress with the share of the file read so far.
func (p *pass) measure(ctx context.Context, path string, withSketch bool, start startOf, progress func(float64)) (a *Analysis, err error) {
	file, err := wavfile.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err = errors.Join(err, file.Close()); err != nil {
			a = nil
		}
	}()
	info := file.Info()
	rate, channels := info.SampleRateHz, info.Channels
	m := meters{
		loudness: loudness.NewWeighted(rate, loudness.Weights(channels, info.ChannelMask)),
		dynamics: dynamics.New(rate, channels),
		timbre:   timbre.New(rate, channels),
		spectrum: spectrum.New(rate, channels),
	}
	consumers := []spectrum.Consumer{m.spectrum, m.dynamics, m.timbre}
	if withSketch {
		m.sketcher = kinship.NewSketcher(rate, channels)
		if start.told {
			m.sketcher.SetTimeReference(start.at)
		} else if info.Bext != nil {
			m.sketcher.SetTimeReference(info.Bext.TimeReference)
		}
		consumers = append(consumers, m.sketcher)
	}
	stream := p.prepare(rate, channels)
	stream.Reset(consumers...)
	block := make([][]float32, channels)
	for done := int64(0); ; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := file.Read(p.planes)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		for c, plane := range p.planes {
			block[c] = plane[:n]
		}
		m.write(block)
		stream.Write(block)
		done += int64(n)
		progress(float64(done) / float64(info.Frames))
	}
	stream.Close()
	a = &Analysis{Path: path, Profile: m.profile(info, file), Timbre: m.timbre.Vector()}
	if start.told {
		a.Profile.TimeReference = start.at
	}
	if m.sketcher != nil {
		a.Sketch = m.sketcher.Sketch()
	}
	return a, nil
}

// write feeds a block to all that work on samples.
func (m *meters) write(block [][]float32) {
	m.loudness.Write(block)
	m.dynamics.Write(block)
	m.timbre.Write(block)
	m.spectrum.Write(block)
	if len(block) > 1 {
		m.stereo.write(block[0], block[1])
	}
	if m.sketcher != nil {
		m.sketcher.Write(block)
	}
}

// profile reads all meters.
func (m *meters) profile(info wavfile.Info, file *wavfile.Reader) Profile {
	l, d, s := m.loudness.Result(), m.dynamics.Result(), m.spectrum.Result()
	p := Profile{
		File:         filepath.Base(info.Path),
		SampleRateHz: info.SampleRateHz,
		Channels:     info.Channels,
		BitDepth:     info.BitDepth,
		Float:        info.Float,
		Frames:       info.Frames,
		DurationS:    float64(info.Frames) / float64(info.SampleRateHz),

		IntegratedLUFS:   DB(l.IntegratedLUFS),
		LoudnessRangeLU:  DB(l.LoudnessRangeLU),
		MaxMomentaryLUFS: DB(l.MaxMomentaryLUFS),
		MaxShortTermLUFS: DB(l.MaxShortTermLUFS),
		SamplePeakDBFS:   DB(l.SamplePeakDBFS),
		TruePeakDBTP:     DB(l.TruePeakDBTP),
		RMSDBFS:          DB(d.RMSDB),
		ActiveRMSDBFS:    DB(d.ActiveRMSDB),
		CrestDB:          DB(d.CrestDB),
		PeakToLoudnessDB: DB(math.Inf(-1)),

		DCOffset:     d.DCOffset,
		ClippedRuns:  d.ClippedRuns,
		NonFinite:    file.NonFinite(),
		Wild:         file.Wild(),
		NoiseFloorDB: DB(d.NoiseFloorDB),
		ActiveShare:  d.ActiveShare,
		Silent:       d.Silent,
		VUMaxDB:      DB(d.VUMaxDB),

		CentroidHz:    Positive(s.CentroidHz),
		SpreadHz:      Positive(s.SpreadHz),
		Rolloff85Hz:   Positive(s.Rolloff85Hz),
		Flatness:      s.Flatness,
		RegisterShare: s.Register,

		OnsetRateHz:        d.OnsetRateHz,
		AttackS:            Positive(d.AttackS),
		DecayS:             Positive(d.DecayS),
		TransientToSustain: DB(d.TransientToSustainDB),
		Tonality:           d.Tonality,

		Correlation: 1,
		SideToMidDB: DB(math.Inf(-1)),
		Notes:       info.Notes,
	}
	if info.Bext != nil {
		p.TimeReference, p.Description = info.Bext.TimeReference, info.Bext.Description
	}
	if !math.IsInf(l.IntegratedLUFS, -1) {
		p.PeakToLoudnessDB = DB(l.TruePeakDBTP - l.IntegratedLUFS)
	}
	for i, v := range s.OctaveDB {
		p.OctaveDB[i] = DB(v)
	}
	if info.Channels > 1 {
		f := m.stereo.figures(d.PerChannel[0], d.PerChannel[1])
		p.Correlation, p.SideToMidDB, p.BalanceDB, p.DualMono = f.correlation, f.sideToMid, f.balance, f.dualMono
	}
	return p
}
