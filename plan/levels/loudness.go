package levels

import (
	"context"
	"errors"
	"io"
	"runtime"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"foldout/features"
	"foldout/features/loudness"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// Loudness returns the integrated loudness (ITU-R BS.1770-5, LUFS) of the sum of each set of tracks; a set without
// tracks, or of silence, has sheet.NotMeasured. Sums are made as Measure makes them. Progress counts frames.
func Loudness(ctx context.Context, sets [][]sheet.Placement, opt Options) ([]features.DB, error) {
	doc := &sheet.Sheet{Schema: sheet.SchemaVersion, Folder: opt.Folder}
	for _, tracks := range sets {
		doc.Pairs = append(doc.Pairs, sheet.Pair{Tracks: tracks})
	}
	s, err := stems.Open(doc, stems.Options{Folder: opt.Folder, SameStart: opt.SameStart, Apart: true})
	if err != nil {
		return nil, err
	}
	out := make([]features.DB, len(sets))
	var done atomic.Int64
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for n := range s.Mixes {
		out[n] = sheet.NotMeasured
		if len(s.Mixes[n].Tracks) == 0 {
			continue
		}
		group.Go(func() (err error) {
			out[n], err = loudnessOf(ctx, &s.Mixes[n], s.RateHz, func(frames int) {
				if opt.Progress != nil {
					opt.Progress(done.Add(int64(frames)), s.Frames*int64(len(sets)))
				}
			})
			return err
		})
	}
	return out, group.Wait()
}

func loudnessOf(ctx context.Context, m *stems.Mix, rateHz int, progress func(frames int)) (_ features.DB, err error) {
	sum, err := m.Open()
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, sum.Close()) }()
	meter := loudness.New(rateHz, 2)
	planes := [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)}
	narrow := [][]float32{make([]float32, stems.BlockFrames), make([]float32, stems.BlockFrames)}
	for ctx.Err() == nil {
		n, err := sum.Read(planes)
		if err == io.EOF {
			return features.DB(meter.Result().IntegratedLUFS), nil
		}
		if err != nil {
			return 0, err
		}
		for side := range planes {
			for i, v := range planes[side][:n] {
				narrow[side][i] = float32(v)
			}
		}
		meter.Write([][]float32{narrow[0][:n], narrow[1][:n]})
		progress(n)
	}
	return 0, ctx.Err()
}
