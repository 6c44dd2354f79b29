package demo

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"

	"foldout/features/wavfile"
)

// Render performs the song and writes one WAV file per track of Song into dir, which must exist. A file of that name that is
// there already is an error and is never replaced. Tracks are made on all cores. progress, which may be nil, is told
// after each track how many are written, by one goroutine at a time. A cancelled context stops between tracks.
func Render(ctx context.Context, dir string, progress func(done, total int)) error {
	return renderTracks(ctx, dir, Song.Tracks, progress)
}

func renderTracks(ctx context.Context, dir string, tracks []Track, progress func(done, total int)) error {
	if info, err := os.Stat(dir); err != nil {
		return err
	} else if !info.IsDir() {
		return fmt.Errorf("%s is a file; want a folder", dir)
	}
	s := newSession()
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	var mu sync.Mutex
	done := 0
	for _, t := range tracks {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := write(filepath.Join(dir, t.File), t, t.perform(s)); err != nil {
				return err
			}
			mu.Lock()
			defer mu.Unlock()
			done++
			if progress != nil {
				progress(done, len(tracks))
			}
			return nil
		})
	}
	return group.Wait()
}

// perform returns the finished planes of a track.
func (t Track) perform(s *session) [][]float64 {
	if t.Silent {
		out := make([][]float64, t.Channels)
		for i := range out {
			out[i] = make([]float64, samples(lengthS))
		}
		return out
	}
	var out [][]float64
	for _, shared := range t.render(s) { // a plane may be another track's source: work on a copy
		out = append(out, append([]float64(nil), shared...))
	}
	r := newRand("noise of " + t.File)
	for _, x := range out {
		through(x, highPass(18, 0.7)) // the microphone amplifier passes no DC
		fade(x, samples(0.01), samples(0.25))
	}
	gain := decibels(t.PeakDBFS) / peakOf(out...)
	for _, x := range out {
		for i := range x {
			x[i] = gain*x[i] + 1e-5*r.NormFloat64() // its noise, at -100 dBFS
		}
	}
	return out
}

func write(path string, t Track, planes [][]float64) error {
	text := fmt.Sprintf("%s, %s: %s", Song.Artist, Song.Title, t.Instrument)
	if t.Musician != "" {
		text += ", " + t.Musician
	}
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rate, Channels: t.Channels, Encoding: wavfile.PCM24,
		Bext: &wavfile.Bext{Description: text, Originator: "foldout demo"}}, false)
	if err != nil {
		return err
	}
	defer w.Abort() //nolint:errcheck // after Close it does nothing; before, the first error counts
	if err := w.WriteFloat64(planes); err != nil {
		return err
	}
	return w.Close()
}
