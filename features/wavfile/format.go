package wavfile

import (
	"encoding/binary"
	"errors"
	"fmt"
)

const (
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagExtensible = 0xFFFE

	fmtPlainBytes      = 16
	fmtExtensibleBytes = 40
)

// guidTail is what follows the two-byte tag in a sub-format GUID.
const guidTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71"

// sampleFormat is the fmt chunk, checked.
type sampleFormat struct {
	rateHz, channels int
	validBits        int
	container        int // bytes of one sample
	float            bool
	mask             uint32
}

func (f sampleFormat) blockAlign() int { return f.channels * f.container }

// parseFormat checks a fmt payload. The error's text is what was found. Notes tell of contradictions that do no harm.
func parseFormat(p []byte) (sampleFormat, []string, error) {
	var f sampleFormat
	var notes []string
	if len(p) < fmtPlainBytes {
		return f, nil, fmt.Errorf("a damaged WAV file (format chunk of %d bytes)", len(p))
	}
	tag := binary.LittleEndian.Uint16(p)
	f.channels = int(binary.LittleEndian.Uint16(p[2:]))
	rate := binary.LittleEndian.Uint32(p[4:])
	align := int(binary.LittleEndian.Uint16(p[12:]))
	bits := int(binary.LittleEndian.Uint16(p[14:]))
	f.validBits = bits
	if tag == tagExtensible {
		if len(p) < fmtExtensibleBytes {
			return f, nil, fmt.Errorf("a damaged WAV file (extensible format chunk of %d bytes)", len(p))
		}
		tag = binary.LittleEndian.Uint16(p[24:])
		if string(p[26:40]) != guidTail {
			return f, nil, fmt.Errorf("an unknown codec (sub-format % X) in a WAV file", p[24:40])
		}
		f.validBits = int(binary.LittleEndian.Uint16(p[18:]))
		f.mask = binary.LittleEndian.Uint32(p[20:])
	}
	if tag != tagPCM && tag != tagFloat {
		return f, nil, errors.New(codecName(tag))
	}
	f.float = tag == tagFloat
	switch {
	case f.channels == 0:
		return f, nil, errors.New("a WAV file with zero channels")
	case f.channels > maxChannels:
		return f, nil, fmt.Errorf("a WAV file with %d channels (%d at most)", f.channels, maxChannels)
	case rate == 0:
		return f, nil, errors.New("a WAV file with a sample rate of zero")
	case rate < minRateHz || rate > maxRateHz:
		return f, nil, fmt.Errorf("a sample rate of %d Hz (%d to %d Hz can be read)", rate, minRateHz, maxRateHz)
	case bits == 0:
		return f, nil, errors.New("a WAV file with zero bits a sample")
	}
	f.rateHz = int(rate)
	f.container = align / f.channels
	if align%f.channels != 0 || f.container*8 < bits || f.container > 8 {
		return f, nil, fmt.Errorf("a WAV file with an absurd block align (%d bytes for %d channels of %d bits)",
			align, f.channels, bits)
	}
	if f.float && f.container != 4 && f.container != 8 || f.float && bits != f.container*8 || !f.float && f.container > 4 {
		kind := "PCM"
		if f.float {
			kind = "float"
		}
		return f, nil, fmt.Errorf("%s of %d bits in %d bytes", kind, bits, f.container)
	}
	switch {
	case f.float:
		f.validBits = f.container * 8
	case f.validBits == 0:
		f.validBits = bits
	case f.validBits > f.container*8:
		notes = append(notes, fmt.Sprintf("header claims %d valid bits in a container of %d; all %d bits are used",
			f.validBits, f.container*8, f.container*8))
		f.validBits = f.container * 8
	}
	return f, notes, nil
}
