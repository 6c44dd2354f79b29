package main

import (
	"errors"
	"io"

	"foldout/features/wavfile"
)

// readTracks reads and unpacks files, and does nothing with the samples.
func readTracks(paths []string) error {
	for _, path := range paths {
		if err := readTrack(path); err != nil {
			return err
		}
	}
	return nil
}

func readTrack(path string) (err error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	planes := make([][]float32, r.Info().Channels)
	for c := range planes {
		planes[c] = make([]float32, 4096)
	}
	for {
		if _, err := r.Read(planes); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
	}
}
