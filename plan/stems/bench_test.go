package stems

import (
	"fmt"
	"path/filepath"
	"testing"

	"foldout/features/wavfile"
)

// BenchmarkWrite writes 4 pairs of 5 tracks of 10 s; bytes are those of the tracks.
func BenchmarkWrite(b *testing.B) {
	dir := b.TempDir()
	var pairs [4][]string
	var bytes int64
	for n := range 20 {
		file := fmt.Sprintf("%d.wav", n)
		channels := 1 + n%2
		put(b, dir, track{file: file, planes: noise(uint64(n), channels, 10*rate, 0.05), encoding: wavfile.PCM24})
		bytes += int64(channels) * 10 * rate * 3
		pairs[n%4] = append(pairs[n%4], file)
	}
	s := open(b, sheetOf(dir, pairs[:]...), Options{})
	for _, float := range []bool{false, true} {
		b.Run(map[bool]string{false: "24 bits", true: "float"}[float], func(b *testing.B) {
			b.SetBytes(bytes)
			for b.Loop() {
				if _, err := s.Write(b.Context(), WriteOptions{Dir: filepath.Join(dir, "out"), Float: float, Force: true}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
