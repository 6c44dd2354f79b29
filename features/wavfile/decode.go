package wavfile

import (
	"encoding/binary"
	"math"
)

// sample is what planes are made of.
type sample interface{ float32 | float64 }

// unpacker fills dst, one channel's plane, from raw, which starts at that channel's first sample and holds the next one
// stride bytes further on. It returns how many samples were NaN or infinite and became 0. For 24 bits raw must go on
// for one byte after the last sample.
type unpacker[T sample] func(dst []T, raw []byte, stride int) (nonFinite int64)

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
		dst[i] = T(int32(int16(binary.LittleEndian.Uint16(raw[at:])))) * (1.0 / (1 << 15))
		at += stride
	}
	return 0
}

func unpack24[T sample](dst []T, raw []byte, stride int) int64 {
	at := 0
	for i := range dst {
		dst[i] = T(int32(binary.LittleEndian.Uint32(raw[at:])<<8)) * (1.0 / (1 << 31))
		at += stride
	}
	return 0
}

func unpack32[T sample](dst []T, raw []byte, stride int) int64 {
	at := 0
	for i := range dst {
		dst[i] = T(int32(binary.LittleEndian.Uint32(raw[at:]))) * (1.0 / (1 << 31))
		at += stride
	}
	return 0
}

func unpackFloat32[T sample](dst []T, raw []byte, stride int) int64 {
	const exponent = 0x7F800000 // all ones: NaN or infinite
	bad, at := int64(0), 0
	for i := range dst {
		bits := binary.LittleEndian.Uint32(raw[at:])
		at += stride
		if bits&exponent == exponent {
			bits = 0
			bad++
		}
		dst[i] = T(math.Float32frombits(bits))
	}
	return bad
}

// unpackFloat64 saturates at the largest float32 where the plane is float32.
func unpackFloat64[T sample](dst []T, raw []byte, stride int) int64 {
	const exponent = 0x7FF << 52
	bad, at := int64(0), 0
	for i := range dst {
		bits := binary.LittleEndian.Uint64(raw[at:])
		at += stride
		if bits&exponent == exponent {
			bits = 0
			bad++
		}
		v := math.Float64frombits(bits)
		t := T(v)
		if math.IsInf(float64(t), 0) {
			t = T(math.Copysign(math.MaxFloat32, v))
		}
		dst[i] = t
	}
	return bad
}
