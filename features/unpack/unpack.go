// Package unpack makes packed audio files fit to be read at any place: FLAC has to be decoded from the start of a packet
// on, which costs a hundred times what reading does where thousands of places are looked at.
//
// In go paths, out come paths of the same sound: of files that are not packed the path itself, of FLAC files that of a WAV
// copy in a temporary folder, under the same name and with the same samples.
package unpack

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"foldout/features/atomicfile"
	"foldout/features/wavfile"
)

const blockFrames = 1 << 15

// Files unpacks what is packed. done removes the copies; it has to be called unless there is an error. Errors are those of
// reading, of the temporary folder, and of ctx.
func Files(ctx context.Context, paths ...string) (plain []string, done func() error, err error) {
	var folders []string
	done = func() (err error) {
		for _, f := range folders {
			err = errors.Join(err, os.RemoveAll(f))
		}
		return err
	}
	for _, p := range paths {
		folder, file, err := one(ctx, p)
		if folder != "" {
			folders = append(folders, folder)
		}
		if err != nil {
			return nil, nil, errors.Join(err, done())
		}
		plain = append(plain, file)
	}
	return plain, done, nil
}

// one unpacks a file into a temporary folder; folder is empty where there is nothing to unpack.
func one(ctx context.Context, path string) (folder, file string, err error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return "", "", err
	}
	defer r.Close()
	if r.Info().Container != "FLAC" {
		return "", path, nil
	}
	if folder, err = os.MkdirTemp("", "foldout-unpacked-"); err != nil {
		return "", "", err
	}
	atomicfile.Waste(folder) // it is removed in any case
	file = filepath.Join(folder, filepath.Base(path))
	if err := copyTo(ctx, r, file); err != nil {
		return folder, "", fmt.Errorf("%s cannot be unpacked: %w", path, err)
	}
	return folder, file, nil
}

func copyTo(ctx context.Context, r *wavfile.Reader, file string) error {
	info := r.Info()
	format := wavfile.Format{SampleRateHz: info.SampleRateHz, Channels: info.Channels, Encoding: wavfile.PCM24}
	if info.BitDepth <= 16 {
		format.Encoding = wavfile.PCM16
	}
	w, err := wavfile.Create(file, format, false)
	if err != nil {
		return err
	}
	defer w.Abort() //nolint:errcheck // after Close it does nothing
	whole, part := make([][]float64, info.Channels), make([][]float64, info.Channels)
	for c := range whole {
		whole[c] = make([]float64, blockFrames)
	}
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := r.ReadFloat64(whole)
		if n > 0 {
			for c := range part {
				part[c] = whole[c][:n]
			}
			if err := w.WriteFloat64(part); err != nil {
				return err
			}
		}
		if errors.Is(err, io.EOF) {
			return w.Close()
		}
		if err != nil {
			return err
		}
	}
}
