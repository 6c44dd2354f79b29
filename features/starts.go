package features

import (
	"math"

	"foldout/features/wavfile"
)

// Starts prepares Options.Starts from what somebody says of some files: given holds, by path, the samples after the
// session's zero at which a file begins. Where other files carry time references, the zero is the earliest of them, and files
// without one begin there. Files that cannot be read are left out; measuring will say so.
func Starts(paths []string, given map[string]int64) map[string]int64 {
	if len(given) == 0 {
		return nil
	}
	rates, dated := map[string]int{}, map[string]bool{}
	zero := math.Inf(1) // seconds
	for _, path := range paths {
		info, err := wavfile.ReadInfo(path)
		if err != nil {
			continue
		}
		rates[path] = info.SampleRateHz
		if _, told := given[path]; told || info.Bext == nil || info.Bext.TimeReference <= 0 {
			continue
		}
		dated[path] = true
		zero = min(zero, float64(info.Bext.TimeReference)/float64(info.SampleRateHz))
	}
	starts := map[string]int64{}
	for path, rate := range rates {
		var base int64
		if !math.IsInf(zero, 1) {
			base = int64(math.Round(zero * float64(rate)))
		}
		if at, told := given[path]; told {
			starts[path] = base + at
		} else if base > 0 && !dated[path] {
			starts[path] = base
		}
	}
	return starts
}
