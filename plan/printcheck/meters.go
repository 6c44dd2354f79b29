package printcheck

import (
	"context"
	"math"

	"golang.org/x/sync/errgroup"

	"foldout/features"
	"foldout/features/loudness"
)

// levels measures what both files hold: the mix's segments, and the print's own samples for the same stretches.
func levels(ctx context.Context, a *aligned) (Levels, error) {
	l := Levels{DurationS: float64(a.course.frames()) / float64(a.mixRate)}
	var mix, print [][2]int64
	for _, s := range a.course.segments {
		line := a.course.line(s)
		mix = append(mix, [2]int64{s.from, s.to})
		print = append(print, [2]int64{int64(math.Round(line.at(float64(s.from)))), int64(math.Round(line.at(float64(s.to))))})
	}
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() (err error) { l.Mix, err = measure(ctx, a.mix, mix); return })
	group.Go(func() (err error) { l.Print, err = measure(ctx, a.print, print); return })
	return l, group.Wait()
}

// clipRun is how many samples in a row at the very top make a clipped run.
const clipRun = 3

func measure(ctx context.Context, path string, ranges [][2]int64) (Level, error) {
	s, err := open(path)
	if err != nil {
		return Level{}, err
	}
	defer s.close() //nolint:errcheck // opened for reading
	meter := loudness.New(s.rate, 2)
	block := planes(1 << 14)
	var square, frames float64
	var clipped int64
	var run [2]int64
	for _, r := range ranges {
		for at := r[0]; at < r[1]; at += int64(len(block[0])) {
			if err := ctx.Err(); err != nil {
				return Level{}, err
			}
			n := min(int64(len(block[0])), r[1]-at)
			part := [2][]float32{block[0][:n], block[1][:n]}
			if err := s.read(at, part[0], part[1]); err != nil {
				return Level{}, err
			}
			meter.Write(part[:])
			for c, plane := range part {
				for _, v := range plane {
					square += float64(v) * float64(v)
					if v < fullScale && v > -fullScale {
						if run[c] >= clipRun {
							clipped += run[c]
						}
						run[c] = 0
						continue
					}
					run[c]++
				}
			}
			frames += float64(n)
		}
	}
	for _, n := range run {
		if n >= clipRun {
			clipped += n
		}
	}
	m := meter.Result()
	rms := 10 * math.Log10(square/(2*frames))
	return Level{
		IntegratedLUFS: features.DB(m.IntegratedLUFS), LoudnessRangeLU: features.DB(m.LoudnessRangeLU),
		TruePeakDBTP: features.DB(m.TruePeakDBTP), SamplePeakDBFS: features.DB(m.SamplePeakDBFS), RMSDBFS: features.DB(rms),
		CrestDB: features.DB(m.SamplePeakDBFS - rms), PeakToLoudnessLU: features.DB(m.TruePeakDBTP - m.IntegratedLUFS),
		ClippedSamples: clipped,
	}, nil
}

// fullScale is the largest code of 16 bits, at which a clipped converter stands.
const fullScale = 32767.0 / 32768
