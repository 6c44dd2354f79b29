//go:build !amd64 || purego

package fft

const vectors = false

// newVector is never called here.
func newVector(n int) engine { return newPortable(n) }
