package wavfile

import (
	"encoding/binary"
	"math"
)

const ds64Bytes = 28 // without a table

// Loudspeaker positions of the extensible header. More than two channels are outputs, not loudspeakers.
const (
	maskNone   = 0
	maskMono   = 0x4 // front centre
	maskStereo = 0x1 | 0x2
)

// header holds everything before the samples for a file of the given length. Its own length depends on f alone.
func header(f Format, frames int64, limit int64) []byte {
	body := appendFormat(nil, f)
	if f.Bext != nil {
		body = appendChunk(body, "bext", f.Bext.payload())
	}
	dataBytes := frames * int64(f.blockAlign())
	const front = riffHeaderBytes + chunkHeaderBytes + ds64Bytes
	factAt := -1
	if f.extensible() {
		body = appendChunk(body, "fact", []byte{0, 0, 0, 0})
		factAt = front + len(body) - 4
	}
	riffBytes := int64(front+len(body)+chunkHeaderBytes) + dataBytes + dataBytes%2 - chunkHeaderBytes
	long := riffBytes > limit

	h := make([]byte, front, front+len(body)+chunkHeaderBytes)
	copy(h, "RIFF")
	copy(h[8:], "WAVEJUNK")
	binary.LittleEndian.PutUint32(h[4:], uint32(riffBytes))
	binary.LittleEndian.PutUint32(h[16:], ds64Bytes)
	if long {
		copy(h, "RF64")
		copy(h[12:], "ds64")
		binary.LittleEndian.PutUint32(h[4:], unknownSize)
		binary.LittleEndian.PutUint64(h[20:], uint64(riffBytes))
		binary.LittleEndian.PutUint64(h[28:], uint64(dataBytes))
		binary.LittleEndian.PutUint64(h[36:], uint64(frames))
	}
	h = append(h, body...)
	if factAt >= 0 {
		binary.LittleEndian.PutUint32(h[factAt:], uint32(min(frames, math.MaxUint32)))
	}
	h = append(h, "data"...)
	if long {
		return binary.LittleEndian.AppendUint32(h, unknownSize)
	}
	return binary.LittleEndian.AppendUint32(h, uint32(dataBytes))
}

func appendChunk(h []byte, id string, payload []byte) []byte {
	h = append(h, id...)
	h = binary.LittleEndian.AppendUint32(h, uint32(len(payload)))
	h = append(h, payload...)
	if len(payload)%2 == 1 {
		h = append(h, 0)
	}
	return h
}

func appendFormat(h []byte, f Format) []byte {
	le := binary.LittleEndian
	tag, bits := uint16(tagPCM), uint16(f.Encoding.bits())
	if f.Encoding == Float32 {
		tag = tagFloat
	}
	outer := tag
	if f.extensible() {
		outer = tagExtensible
	}
	p := le.AppendUint16(nil, outer)
	p = le.AppendUint16(p, uint16(f.Channels))
	p = le.AppendUint32(p, uint32(f.SampleRateHz))
	p = le.AppendUint32(p, uint32(f.SampleRateHz*f.blockAlign()))
	p = le.AppendUint16(p, uint16(f.blockAlign()))
	p = le.AppendUint16(p, bits)
	if f.extensible() {
		mask := uint32(maskNone)
		switch f.Channels {
		case 1:
			mask = maskMono
		case 2:
			mask = maskStereo
		}
		p = le.AppendUint16(p, fmtExtensibleBytes-18)
		p = le.AppendUint16(p, bits)
		p = le.AppendUint32(p, mask)
		p = le.AppendUint16(p, tag)
		p = append(p, guidTail...)
	}
	return appendChunk(h, "fmt ", p)
}
