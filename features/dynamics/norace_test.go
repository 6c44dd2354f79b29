//go:build !race

package dynamics

const underRaceDetector = false
