package wavfile

import (
	"encoding/binary"
	"math"

	"foldout/features/vec"
)

// sample is what planes are made of.
type sample interface{ float32 | float64 }

// unpacker fills dst, one channel's plane, from raw, which starts at that channel's first sample and holds the next one
// stride bytes further on. It returns how many samples were NaN or infinite and became 0. For 24 bits raw must go on
// for one byte after the last sample.
type unpacker[T sample] func(dst []T, raw []byte, stride int) (nonFinite int64)

// The loops below slice exactly the bytes of one sample: one bounds check that the compiler folds with the load's. For 24
// bits, one load of four bytes a sample measures as fast as three loads for four samples, and serves any stride.

//go:generate go run ./gen -out kernels_amd64.s -stubs kernels_amd64.go -pkg wavfile

// newUnpacker32 is newUnpacker for float32, with a vector kernel for the bulk where there is one.
func newUnpacker32(f sampleFormat) unpacker[float32] {
	plain := newUnpacker[float32](f)
	head := unpackHead(f)
	if head == nil {
		return plain
	}
	return func(dst []float32, raw []byte, stride int) int64 {
		if stride > 2*f.container {
			return plain(dst, raw, stride)
		}
		n, bad := 0, int64(0)
		for {
			n += head(dst[n:], raw[n*stride:], stride)
			if !f.float || len(dst)-n <= headBlock {
				return bad + plain(dst[n:], raw[n*stride:], stride)
			}
			// The kernel stopped at a value that is not finite.
			bad += plain(dst[n:n+headBlock], raw[n*stride:], stride)
			n += headBlock
		}
	}
}

// headBlock is how many samples a kernel unpacks at a time.
const headBlock = 8

// slack is how far an unpacker may read beyond the last sample.
const slack = 1

func newUnpacker[T sample](f sampleFormat) unpacker[T] {
	switch {
	case f.float && f.container == 4:
		return unpackFloat32[T]
	case f.float:
		return unpackFloat64[T]
	case f.container == 1:
		return unpack8[T]
	case f.container == 2:
		return unpack16[T]
	case f.container == 3:
		return unpack24[T]
	}
	return unpack32[T]
}

func unpack8[T sample](dst []T, raw []byte, stride int) int64 {
	at := 0
	for i := range dst {
		dst[i] = T(int32(raw[at])-128) * (1.0 / (1 << 7))
		at += stride
	}
	return 0
}

func unpack16[T sample](dst []T, raw []byte, stride int) int64 {
	at := 0
	for i := range dst {
		dst[i] = T(int32(int16(binary.LittleEndian.Uint16(raw[at:at+2])))) * (1.0 / (1 << 15))
		at += stride
	}
	return 0
}

func unpack24[T sample](dst []T, raw []byte, stride int) int64 {
	at := 0
	for i := range dst {
		dst[i] = T(int32(binary.LittleEndian.Uint32(raw[at:at+4])<<8)) * (1.0 / (1 << 31))
		at += stride
	}
	return 0
}

func unpack32[T sample](dst []T, raw []byte, stride int) int64 {
	at := 0
	for i := range dst {
		dst[i] = T(int32(binary.LittleEndian.Uint32(raw[at:at+4]))) * (1.0 / (1 << 31))
		at += stride
	}
	return 0
}

func unpackFloat32[T sample](dst []T, raw []byte, stride int) int64 {
	const exponent = 0x7F800000 // all ones: NaN or infinite
	bad, at := int64(0), 0
	for i := range dst {
		bits := binary.LittleEndian.Uint32(raw[at : at+4])
		at += stride
		if bits&exponent == exponent {
			bits = 0
			bad++
		}
		dst[i] = T(math.Float32frombits(bits))
	}
	return bad
}

func unpackFloat64[T sample](dst []T, raw []byte, stride int) int64 {
	bad, at := int64(0), 0
	for i := range dst {
		v := math.Float64frombits(binary.LittleEndian.Uint64(raw[at : at+8]))
		at += stride
		t := T(v)
		if t-t != 0 { // NaN or infinite, or too large for T
			if v-v != 0 {
				bad++
			}
			t = tame[T](v)
		}
		dst[i] = t
	}
	return bad
}

// wildest is the largest magnitude a sample can mean: 400 dB above full scale is no sound but rubbish in the file, and its
// square and all sums with it would soon be infinite.
const wildest = 1e20

// bound takes samples beyond wildest as full scale, with their sign, and returns how many these were.
func bound[T sample](x []T) (wild int64) {
	if single, ok := any(x).([]float32); ok && !(vec.Peak(single) > wildest) {
		return 0
	}
	for i, v := range x {
		if v > wildest || v < -wildest {
			x[i] = T(math.Copysign(1, float64(v)))
			wild++
		}
	}
	return wild
}

// tame is what stands for a float64 that T cannot hold: the largest float32 for a finite one, else 0.
func tame[T sample](v float64) T {
	if v-v != 0 {
		return 0
	}
	return T(math.Copysign(math.MaxFloat32, v))
}
