package wavfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// AIFF and AIFF-C (Apple 1989, 1991) are chunks as in WAV with numbers in big-endian order:
//
//	"FORM" u32 size "AIFF" or "AIFC"
//	"COMM"  u16 channels, u32 frames, u16 bits, 80-bit float rate; in AIFF-C the codec's id[4] and name follow
//	"SSND"  u32 offset, u32 block size, the frames
//
// Samples are two's complement, also of 8 bits, left-justified in whole bytes. They are read through swapped, which turns
// them into those of WAV.
const (
	commBytes = 18
	ssndBytes = 8
)

// aiffCodec is an uncompressed codec of AIFF-C.
type aiffCodec struct {
	float  bool
	little bool // byte order
	bits   int  // 0: what COMM says
	offset bool // 8 bits with 128 as zero
}

var aiffCodecs = map[string]aiffCodec{
	"NONE": {}, "twos": {}, "sowt": {little: true}, "raw ": {offset: true},
	"in24": {bits: 24}, "in32": {bits: 32}, "42ni": {bits: 24, little: true}, "23ni": {bits: 32, little: true},
	"fl32": {float: true, bits: 32}, "FL32": {float: true, bits: 32}, "fl64": {float: true, bits: 64}, "FL64": {float: true, bits: 64},
}

var aiffCompressed = map[string]string{
	"ima4": "IMA 4:1", "ulaw": "mu-law", "ULAW": "mu-law", "alaw": "A-law", "ALAW": "A-law", "MAC3": "MACE 3:1", "MAC6": "MACE 6:1",
	"GSM ": "GSM 6.10", "QDMC": "QDesign", "G722": "G.722", "ADP4": "DVI ADPCM",
}

// parseAIFF finds format and samples of an AIFF file and how its bytes have to be swapped. size is the file's.
func parseAIFF(src io.ReaderAt, size int64) (layout, *swapped, error) {
	var out layout
	var comm []byte
	var data chunk
	head := make([]byte, riffHeaderBytes)
	if err := readAt(src, head, 0); err != nil {
		return out, nil, err
	}
	isC := string(head[8:]) == "AIFC"
	out.container = string(head[8:])
	count := 0
	for pos := int64(riffHeaderBytes); size-pos >= chunkHeaderBytes; {
		h := make([]byte, chunkHeaderBytes)
		if err := readAt(src, h, pos); err != nil {
			return out, nil, err
		}
		c := chunk{id: string(h[:4]), at: pos + chunkHeaderBytes, size: int64(binary.BigEndian.Uint32(h[4:]))}
		if count++; !printable(c.id) || count > maxChunks {
			if data.id == "" {
				return out, nil, found(fmt.Errorf("a damaged AIFF file (no chunk where one should be, at byte %d)", pos))
			}
			out.notes = append(out.notes, fmt.Sprintf("%d bytes after the audio are not chunks and were ignored", size-pos))
			break
		}
		left := size - c.at
		switch {
		case c.id == "SSND" && data.id == "":
			if c.size > left || c.size < ssndBytes {
				out.notes = append(out.notes, fmt.Sprintf("the header promises %d bytes of audio, the file holds %d; read to the end of the file", max(c.size-ssndBytes, 0), max(left-ssndBytes, 0)))
				c.size = left
			}
			data = c
		case c.id == "COMM" && comm == nil:
			comm = make([]byte, min(c.size, left, commBytes+4))
			if err := readAt(src, comm, c.at); err != nil {
				return out, nil, err
			}
		}
		pos = c.at + c.size + c.size&1
	}
	if comm == nil {
		return out, nil, found(errors.New("an AIFF file without a format chunk (COMM)"))
	}
	codec, frames, err := out.format.parseCOMM(comm, isC)
	if err != nil {
		return out, nil, found(err)
	}
	if data.id == "" {
		return out, nil, found(errors.New("an AIFF file with no sound chunk (SSND)"))
	}
	offset := make([]byte, 4)
	if data.size < ssndBytes {
		return out, nil, found(errors.New("an AIFF file whose sound chunk (SSND) is cut short"))
	}
	if err := readAt(src, offset, data.at); err != nil {
		return out, nil, err
	}
	skip := ssndBytes + int64(binary.BigEndian.Uint32(offset))
	if skip > data.size {
		return out, nil, found(fmt.Errorf("a damaged AIFF file (its sound begins %d bytes after the end of the chunk)", skip-data.size))
	}
	out.dataAt = data.at + skip
	held := (data.size - skip) / int64(out.format.blockAlign())
	out.frames = held
	switch {
	case frames == 0 && held > 0:
		out.notes = append(out.notes, "the header gives no audio length, as after a crash while recording; read to the end of the sound chunk")
	case frames < held && frames > 0:
		out.frames = frames
	case frames > held && len(out.notes) == 0:
		out.notes = append(out.notes, fmt.Sprintf("the header promises %d frames, the file holds %d", frames, held))
	}
	return out, &swapped{src: src, from: out.dataAt, width: int64(out.format.container), reverse: !codec.little,
		flip: out.format.container == 1 && !codec.offset}, nil
}

// parseCOMM reads the format chunk. The error's text is what was found.
func (f *sampleFormat) parseCOMM(p []byte, isC bool) (codec aiffCodec, frames int64, err error) {
	if len(p) < commBytes || isC && len(p) < commBytes+4 {
		return codec, 0, fmt.Errorf("a damaged AIFF file (format chunk of %d bytes)", len(p))
	}
	if isC {
		id := string(p[commBytes : commBytes+4])
		var ok bool
		if codec, ok = aiffCodecs[id]; !ok {
			if name := aiffCompressed[id]; name != "" {
				return codec, 0, fmt.Errorf("%s in an AIFF-C file", name)
			}
			return codec, 0, fmt.Errorf("an unknown codec (%q) in an AIFF-C file", id)
		}
	}
	f.channels = int(binary.BigEndian.Uint16(p))
	frames = int64(binary.BigEndian.Uint32(p[2:]))
	f.validBits = int(binary.BigEndian.Uint16(p[6:]))
	rate := extended(p[8:18])
	f.float = codec.float
	if codec.bits > 0 {
		f.validBits = codec.bits
	}
	if codec.offset {
		f.validBits = 8
	}
	f.container = (f.validBits + 7) / 8
	f.rateHz = int(math.Round(min(max(rate, 0), 1e9)))
	switch {
	case f.channels == 0:
		return codec, 0, errors.New("an AIFF file with zero channels")
	case f.channels > maxChannels:
		return codec, 0, fmt.Errorf("an AIFF file with %d channels (%d at most)", f.channels, maxChannels)
	case f.validBits == 0:
		return codec, 0, errors.New("an AIFF file with zero bits a sample")
	case !f.float && f.validBits > 32:
		return codec, 0, fmt.Errorf("an AIFF file of %d bits a sample (32 at most)", f.validBits)
	case f.rateHz == 0:
		return codec, 0, errors.New("an AIFF file with a sample rate of zero")
	case f.rateHz < minRateHz || f.rateHz > maxRateHz:
		return codec, 0, fmt.Errorf("a sample rate of %d Hz (%d to %d Hz can be read)", f.rateHz, minRateHz, maxRateHz)
	}
	return codec, frames, nil
}

// extended is an 80-bit float (IEEE 754 extended, as in SANE); 0 for what is no number.
func extended(p []byte) float64 {
	exponent := int(binary.BigEndian.Uint16(p) & 0x7FFF)
	mantissa := binary.BigEndian.Uint64(p[2:])
	if exponent == 0x7FFF || p[0]&0x80 != 0 {
		return 0
	}
	return math.Ldexp(float64(mantissa), exponent-16383-63)
}

// swapped gives the samples from a place on as WAV has them: little-endian, 8 bits with 128 as zero. It is read in whole
// samples.
type swapped struct {
	src           io.ReaderAt
	from, width   int64
	reverse, flip bool
}

func (s *swapped) ReadAt(p []byte, at int64) (int, error) {
	n, err := s.src.ReadAt(p, at)
	if at < s.from {
		return n, err
	}
	p = p[:n]
	switch {
	case s.flip:
		for i := range p {
			p[i] ^= 0x80
		}
	case !s.reverse:
	case s.width == 2:
		for ; len(p) >= 2; p = p[2:] {
			p[0], p[1] = p[1], p[0]
		}
	case s.width == 3:
		for ; len(p) >= 3; p = p[3:] {
			p[0], p[2] = p[2], p[0]
		}
	case s.width == 4:
		for ; len(p) >= 4; p = p[4:] {
			binary.LittleEndian.PutUint32(p, binary.BigEndian.Uint32(p))
		}
	case s.width == 8:
		for ; len(p) >= 8; p = p[8:] {
			binary.LittleEndian.PutUint64(p, binary.BigEndian.Uint64(p))
		}
	}
	return n, err
}
