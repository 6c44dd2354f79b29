// Package underrace leaves tests out where the race detector watches. It makes every sample ten times as dear, and what it
// looks for is goroutines that touch one another's memory, not figures: a test that sends many signals through the same
// goroutines as its neighbours shows it nothing new. Each package that starts goroutines keeps tests that go through all of
// them; without the detector every test runs.
package underrace

import "testing"

// Skip leaves a test out under the race detector.
func Skip(t testing.TB) {
	t.Helper()
	if Detector {
		t.Skip("a trial of figures: the goroutines that it goes through, other tests of this package go through as well")
	}
}
