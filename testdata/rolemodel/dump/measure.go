package main

import (
	"errors"
	"io"

	"foldout/features/spectrum"
	"foldout/features/timbre"
	"foldout/features/wavfile"
)

// measure runs the meter and its stream of spectra over planes of samples.
func measure(planes [][]float32, rate int) []float32 {
	m := timbre.New(rate, len(planes))
	s := spectrum.NewStream(rate, len(planes), m)
	s.Write(planes)
	s.Close()
	m.Write(planes)
	return m.Vector()
}

// read returns a whole file as planes.
func read(path string) (planes [][]float32, rate int, err error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	info := r.Info()
	planes = make([][]float32, info.Channels)
	for c := range planes {
		planes[c] = make([]float32, info.Frames)
	}
	rest := make([][]float32, len(planes))
	for at := 0; ; {
		for c := range planes {
			rest[c] = planes[c][at:]
		}
		n, err := r.Read(rest)
		at += n
		if errors.Is(err, io.EOF) || at == int(info.Frames) {
			return planes, info.SampleRateHz, nil
		}
		if err != nil {
			return nil, 0, err
		}
	}
}
