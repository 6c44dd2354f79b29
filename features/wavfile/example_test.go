package wavfile_test

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"foldout/features/wavfile"
)

// Example writes half a second of a constant level and reads its peak back, block by block.
func Example() {
	dir, err := os.MkdirTemp("", "wavfile")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() {
		if err := os.RemoveAll(dir); err != nil {
			fmt.Println(err)
		}
	}()
	path := filepath.Join(dir, "stem.wav")
	if err := write(path); err != nil {
		fmt.Println(err)
		return
	}
	if err := printPeak(path); err != nil {
		fmt.Println(err)
	}
	// Output: 2 channels of 24 bits, 24000 frames, peak 0.25
}

func write(path string) error {
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: 48000, Channels: 2, Encoding: wavfile.PCM24}, false)
	if err != nil {
		return err
	}
	block := [][]float32{make([]float32, 24000), make([]float32, 24000)}
	for i := range block[1] {
		block[1][i] = -0.25
	}
	if err := w.Write(block); err != nil {
		return err
	}
	return w.Close()
}

func printPeak(path string) error {
	r, err := wavfile.Open(path)
	if err != nil {
		return err
	}
	info := r.Info()
	planes := make([][]float32, info.Channels)
	for ch := range planes {
		planes[ch] = make([]float32, 4096)
	}
	peak := float32(0)
	for {
		n, err := r.Read(planes)
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		for _, plane := range planes {
			for _, v := range plane[:n] {
				peak = max(peak, v, -v)
			}
		}
	}
	fmt.Printf("%d channels of %d bits, %d frames, peak %v\n", info.Channels, info.BitDepth, info.Frames, peak)
	return r.Close()
}
