//go:build amd64 && !purego

package wavfile

import "golang.org/x/sys/cpu"

// unpackHead returns a function that unpacks as many whole blocks as a vector kernel can, and returns how many samples
// these were; nil where there is no kernel. Kernels serve one and two channels.
func unpackHead(f sampleFormat) func(dst []float32, raw []byte, stride int) int {
	if !cpu.X86.HasAVX2 {
		return nil
	}
	switch {
	case f.float && f.container == 4:
		return func(dst []float32, raw []byte, stride int) int {
			n := kernelSamples(len(dst), len(raw), stride, 4, 8*stride)
			switch {
			case n == 0:
				return 0
			case stride == 4:
				return denseFloatAVX2(&dst[0], &raw[0], n)
			}
			return sparseFloatAVX2(&dst[0], &raw[0], n)
		}
	case f.float:
		return nil
	case f.container == 2:
		return wholeHead(dense16AVX2, sparse16AVX2, 2, 0, 1.0/(1<<15))
	case f.container == 3:
		return wholeHead(dense24AVX2, sparse24AVX2, 3, 4, 1.0/(1<<31))
	case f.container == 4:
		return wholeHead(dense32AVX2, sparse32AVX2, 4, 0, 1.0/(1<<31))
	}
	return nil
}

// wholeHead serves whole numbers of the given bytes; over is how far the kernels read beyond eight frames.
func wholeHead(dense, sparse func(dst *float32, raw *byte, n int, scale float32), bytes, over int, scale float32) func([]float32, []byte, int) int {
	return func(dst []float32, raw []byte, stride int) int {
		n := kernelSamples(len(dst), len(raw), stride, bytes, headBlock*stride+over)
		switch {
		case n == 0:
		case stride == bytes:
			dense(&dst[0], &raw[0], n, scale)
		default:
			sparse(&dst[0], &raw[0], n, scale)
		}
		return n
	}
}

// kernelSamples is how many samples the kernels may do when they read the given number of bytes for a block.
func kernelSamples(samples, raw, stride, bytes, reach int) int {
	if stride != bytes && stride != 2*bytes || raw < reach {
		return 0
	}
	return min(samples/headBlock, (raw-reach)/(headBlock*stride)+1) * headBlock
}
