//go:build amd64 && !purego

package loudness

import "golang.org/x/sys/cpu"

// vectors tells whether the processor runs the kernel.
var vectors = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// sumStretches does for the first samples of x what sumSquares does, and returns how many these were.
func (f *kFilter) sumStretches(x []float32, t *kTable) int {
	if !vectors || t.length == 0 || len(x) < lanesAtOnce*t.length {
		return 0
	}
	var l lanes
	l.begin(f, x, t.length)
	stretchesAVX2(&l.a1[0], &x[0], &t.responses[0], t.length)
	l.end(f, t)
	return lanesAtOnce * t.length
}
