//go:build !race

package kinship

const underRaceDetector = false
