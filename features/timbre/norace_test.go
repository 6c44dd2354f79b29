//go:build !race

package timbre

const underRaceDetector = false
