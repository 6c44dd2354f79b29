package features

import (
	"context"
	"errors"
	"io"
	"math"

	"foldout/features/kinship"
	"foldout/features/wavfile"
)

// soundsBefore tells whether a file sounds in its first seconds. One that is an echo cannot, until what it echoes has begun.
func (t *lateTrack) soundsBefore(seconds float64) bool {
	wave := t.wave
	n := min(int(seconds*kinship.AlignRateHz), len(wave))
	const block = kinship.AlignRateHz / 10
	loud := func(x []float32) (top float64) {
		for len(x) >= block {
			var p float64
			for _, v := range x[:block] {
				p += float64(v) * float64(v)
			}
			top, x = max(top, p), x[block:]
		}
		return top
	}
	return loud(wave[:n]) > 1e-3*loud(wave)
}

// waveform reads a track at kinship.AlignRateHz; nil where it cannot be read.
func (t *lateTrack) waveform(ctx context.Context) []float32 {
	if t.wave != nil {
		return t.wave
	}
	w := kinship.NewWaveform(t.Profile.SampleRateHz, mostAligned)
	if err := eachMono(t.Path, 0, func(x []float32) bool { return w.Write(x) && ctx.Err() == nil }); err != nil {
		return nil
	}
	t.wave = w.Samples()
	return t.wave
}

// eachMono reads a file from a frame on and hands it over in blocks, until it ends or do wants no more. The second channel counts
// half, so that channels which are turned upside down against one another do not cancel.
func eachMono(path string, from int64, do func(x []float32) (more bool)) error {
	file, err := wavfile.Open(path)
	if err != nil {
		return err
	}
	defer file.Close() //nolint:errcheck // it was only read
	if from >= file.Info().Frames {
		return nil
	}
	if err := file.SeekFrame(from); err != nil {
		return err
	}
	planes := make([][]float32, file.Info().Channels)
	for c := range planes {
		planes[c] = make([]float32, blockSamples)
	}
	for {
		n, err := file.Read(planes)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		x := planes[0][:n]
		if len(planes) > 1 {
			for i, v := range planes[1][:n] {
				x[i] += v / 2
			}
		}
		if !do(x) {
			return nil
		}
	}
}

// refine finds by how much t begins after w to the sample, near the lag given in seconds, where both have one rate.
func (t *lateTrack) refine(w *lateTrack, lag float64) (seconds float64, ok bool) {
	rate := t.Profile.SampleRateHz
	if w.Profile.SampleRateHz != rate || len(t.wave) == 0 {
		return 0, false
	}
	const length, around = 1 << 17, 1 << 12
	loudest, top := 0, 0.0
	step := kinship.AlignRateHz
	for at := 0; at+2*step <= len(t.wave); at += step {
		var p float64
		for _, v := range t.wave[at : at+2*step] {
			p += float64(v) * float64(v)
		}
		if begin := float64(at)/float64(step) + lag; p > top && begin >= 0 && begin < w.length {
			loudest, top = at, p
		}
	}
	from := int64(loudest) * int64(rate) / int64(step)
	there := from + int64(math.Round(lag*float64(rate))) - around
	x, err := excerpt(t.Path, from, length)
	if err != nil {
		return 0, false
	}
	y, err := excerpt(w.Path, there, length+2*around)
	if err != nil {
		return 0, false
	}
	a := kinship.NewAligner(x, len(y), rate).Look(y, 0, 2*around)
	if a.Height < leastHeight || a.Height < overChance/2*a.Chance {
		return 0, false
	}
	return float64(there-from+int64(math.Round(a.Lag))) / float64(rate), true
}

// excerpt reads n samples from a frame on; what lies outside the file is silence.
func excerpt(path string, from int64, n int) ([]float32, error) {
	out := make([]float32, n)
	at := int(min(max(-from, 0), int64(n)))
	err := eachMono(path, max(from, 0), func(x []float32) bool {
		at += copy(out[at:], x)
		return at < n
	})
	return out, err
}
