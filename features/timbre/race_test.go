//go:build race

package timbre

// underRaceDetector shortens the tests: the detector makes every sample ten times as dear, and what is left out holds
// nothing for it that the rest does not.
const underRaceDetector = true
