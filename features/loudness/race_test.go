//go:build race

package loudness

// underRaceDetector shortens the tests: the detector makes every sample ten times as dear, and the long signals hold
// nothing for it that the short ones do not.
const underRaceDetector = true
