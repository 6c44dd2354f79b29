package levels

import (
	"context"
	"errors"
	"fmt"
	"io"

	"foldout/features"
	"foldout/features/cores"
	"foldout/features/loudness"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// Loudness returns the integrated loudness (ITU-R BS.1770-5, LUFS) of the sum of each set of tracks; a set without
// tracks, or of silence, has sheet.NotMeasured. Sums are made as Measure makes them. Progress counts frames.
//
// Every track is read once, however many sets it is in: tracks that are together in all sets are summed once, and a set
// that holds another is made from it.
func Loudness(ctx context.Context, sets [][]sheet.Placement, opt Options) ([]features.DB, error) {
	doc := &sheet.Sheet{Schema: sheet.SchemaVersion, Folder: opt.Folder, Settings: sheet.Settings{Offsets: opt.Offsets}}
	for _, tracks := range sets {
		doc.Pairs = append(doc.Pairs, sheet.Pair{Tracks: tracks})
	}
	s, err := stems.Open(doc, stems.Options{Folder: opt.Folder, SameStart: opt.SameStart, Apart: true})
	if err != nil {
		return nil, err
	}
	w, err := weigh(s)
	if err != nil {
		return nil, err
	}
	err = errors.Join(w.run(ctx, s.Frames, opt.Progress), w.close())
	if err != nil {
		return nil, err
	}
	out := make([]features.DB, len(sets))
	for n := range out {
		out[n] = sheet.NotMeasured
		if len(s.Mixes[n].Tracks) > 0 {
			out[n] = features.DB(w.meters[n].Result().IntegratedLUFS)
		}
	}
	return out, nil
}

// weighing measures many sums of the same tracks at once.
type weighing struct {
	cells  []*stems.Summer // tracks that are together in all sets
	wide   [][2][]float64  // a block of each worker
	made   [][2][]float32  // a block of each cell, then of each set
	plan   []step          // in the order in which sets are made
	meters []*loudness.Meter
}

// step makes the sum of a set from others that are there by then.
type step struct {
	set  int
	from []int // into made
}

// weigh opens what is to be measured.
func weigh(s *stems.Session) (_ *weighing, err error) {
	cells, plan := parts(s.Mixes)
	w := &weighing{plan: plan}
	defer func() {
		if err != nil {
			err = errors.Join(err, w.close())
		}
	}()
	for _, tracks := range cells {
		m := s.Mixes[0]
		m.Tracks = tracks
		sum, err := m.Open()
		if err != nil {
			return nil, err
		}
		w.cells = append(w.cells, sum)
	}
	for range cores.Most() {
		w.wide = append(w.wide, [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)})
	}
	for range len(cells) + len(s.Mixes) {
		w.made = append(w.made, [2][]float32{make([]float32, stems.BlockFrames), make([]float32, stems.BlockFrames)})
	}
	for range s.Mixes {
		w.meters = append(w.meters, loudness.NewWithoutPeaks(s.RateHz, 2))
	}
	return w, nil
}

func (w *weighing) close() error {
	var errs []error
	for _, c := range w.cells {
		errs = append(errs, c.Close())
	}
	return errors.Join(errs...)
}

// run goes through the session block by block: the cells, the sets, the meters, each on all cores.
func (w *weighing) run(ctx context.Context, frames int64, progress func(done, total int64)) error {
	workers := len(w.wide)
	read := make([]int, len(w.cells))
	errs := make([]error, len(w.cells))
	for done := int64(0); done < frames; {
		if err := ctx.Err(); err != nil {
			return err
		}
		cores.Each(workers, len(w.cells), func(worker, c int) {
			read[c], errs[c] = w.cells[c].Read(w.wide[worker])
			for side, x := range w.wide[worker] {
				narrow(w.made[c][side], x[:read[c]])
			}
		})
		for c, err := range errs {
			if err == io.EOF || err == nil && read[c] != read[0] {
				err = fmt.Errorf("a sum of tracks ended after %d of %d frames", done, frames)
			}
			if err != nil {
				return err
			}
		}
		n := read[0]
		cores.Each(workers, workers, func(_, part int) {
			for _, s := range w.plan {
				for side := range 2 {
					w.add(s, side, part*n/workers, (part+1)*n/workers)
				}
			}
		})
		cores.Each(workers, len(w.plan), func(_, i int) {
			x := w.made[len(w.cells)+w.plan[i].set]
			w.meters[w.plan[i].set].Write([][]float32{x[0][:n], x[1][:n]})
		})
		done += int64(n)
		if progress != nil {
			progress(done, frames)
		}
	}
	return nil
}

// add makes samples from..to of one side of a set.
func (w *weighing) add(s step, side, from, to int) {
	dst := w.made[len(w.cells)+s.set][side][from:to]
	copy(dst, w.made[s.from[0]][side][from:to])
	for _, other := range s.from[1:] {
		src := w.made[other][side][from:to][:len(dst)]
		for i, v := range src {
			dst[i] += v
		}
	}
}

func narrow(dst []float32, x []float64) {
	dst = dst[:len(x)]
	for i, v := range x {
		dst[i] = float32(v)
	}
}
