//go:build !race

package underrace

// Detector tells whether the race detector watches.
const Detector = false
