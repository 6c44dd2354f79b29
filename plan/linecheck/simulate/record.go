package simulate

import (
	"context"
	"errors"
	"fmt"
	"io"

	"foldout/features/wavfile"
)

// Record passes sources through the chain and writes the return as a new stereo file.
func (c *Chain) Record(ctx context.Context, sources []Source, frames int64, path string, e wavfile.Encoding) error {
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: c.RateHz, Channels: 2, Encoding: e}, false)
	if err != nil {
		return err
	}
	defer w.Abort() //nolint:errcheck // after Close it does nothing; before, the first error counts
	err = c.Run(sources, frames, func(block [][]float64) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		return w.WriteFloat64(block)
	})
	if err != nil {
		return err
	}
	return w.Close()
}

// Files makes the sources of stereo files that are played together, two for each: left, right. All are held in memory.
func Files(paths []string) (sources []Source, frames int64, err error) {
	for _, path := range paths {
		sides, err := readStereo(path)
		if err != nil {
			return nil, 0, err
		}
		for _, x := range sides {
			sources = append(sources, NewSamples(x))
		}
		frames = max(frames, int64(len(sides[0])))
	}
	return sources, frames, nil
}

func readStereo(path string) (sides [2][]float64, err error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return sides, err
	}
	defer r.Close()
	info := r.Info()
	if info.Channels != 2 {
		return sides, fmt.Errorf("%s: %d channels, want 2", path, info.Channels)
	}
	block := [][]float64{make([]float64, 8192), make([]float64, 8192)}
	for {
		n, err := r.ReadFloat64(block)
		for side := range sides {
			sides[side] = append(sides[side], block[side][:n]...)
		}
		if err != nil || n == 0 {
			return sides, endOfFile(err)
		}
	}
}

// endOfFile turns the end of a file into no error.
func endOfFile(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}
