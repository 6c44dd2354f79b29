//go:build !amd64 || purego

package wavfile

// unpackHead has no kernels here.
func unpackHead(sampleFormat) func(dst []float32, raw []byte, stride int) int { return nil }
