package wavfile

import (
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
)

var errNonFinite = errors.New("a sample is NaN or infinite")

// encoder turns planes into bytes.
type encoder struct {
	encoding Encoding
	dither   []*rand.PCG // one per channel, so that the noise does not depend on how the frames are cut into blocks
	clipped  int64
}

func newEncoder(f Format) *encoder {
	e := &encoder{encoding: f.Encoding}
	if f.Dither && f.Encoding != Float32 {
		for ch := range f.Channels {
			e.dither = append(e.dither, rand.NewPCG(f.Seed, uint64(ch)))
		}
	}
	return e
}

// tpdf is triangular noise of ±1 (in steps of the quantiser), the difference of two uniform numbers: variance 1/6.
// With it the quantising error has zero mean and a variance of 1/4 whatever the signal (Lipshitz, Wannamaker and
// Vanderkooy, JAES 40(5), 1992).
func tpdf(g *rand.PCG) float64 {
	u := g.Uint64()
	return (float64(uint32(u>>32)) - float64(uint32(u))) * (1.0 / (1 << 32))
}

// encodePlane writes plane into raw, which starts at the channel's first sample and takes the next one stride bytes
// further on.
func encodePlane[T sample](e *encoder, raw []byte, plane []T, channel, stride int) error {
	switch e.encoding {
	case PCM16:
		return encodePCM(e, raw, plane, channel, stride, 16)
	case PCM24:
		return encodePCM(e, raw, plane, channel, stride, 24)
	}
	return encodeFloat32(e, raw, plane, stride)
}

// encodePCM rounds to the nearest integer, halves to even, and clips at full scale.
func encodePCM[T sample](e *encoder, raw []byte, plane []T, channel, stride, bits int) error {
	scale := float64(int64(1) << (bits - 1))
	var dither *rand.PCG
	if e.dither != nil {
		dither = e.dither[channel]
	}
	at := 0
	for _, s := range plane {
		if s-s != 0 { // NaN and infinity only
			return errNonFinite
		}
		v := float64(s) * scale
		if dither != nil {
			v += tpdf(dither)
		}
		v = math.RoundToEven(v)
		if v > scale-1 {
			v = scale - 1
			e.clipped++
		} else if v < -scale {
			v = -scale
			e.clipped++
		}
		i := int32(v)
		b := raw[at:]
		if bits == 16 {
			binary.LittleEndian.PutUint16(b, uint16(i))
		} else {
			_ = b[2]
			b[0], b[1], b[2] = byte(i), byte(i>>8), byte(i>>16)
		}
		at += stride
	}
	return nil
}

// encodeFloat32 clips only what float32 cannot hold.
func encodeFloat32[T sample](e *encoder, raw []byte, plane []T, stride int) error {
	at := 0
	for _, s := range plane {
		if s-s != 0 {
			return errNonFinite
		}
		f := float32(s)
		if f-f != 0 {
			f = float32(math.Copysign(math.MaxFloat32, float64(s)))
			e.clipped++
		}
		binary.LittleEndian.PutUint32(raw[at:], math.Float32bits(f))
		at += stride
	}
	return nil
}
