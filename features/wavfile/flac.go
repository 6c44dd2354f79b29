package wavfile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
)

// FLAC (RFC 9639) is decoded by github.com/mewkiz/flac; decoded reads what it gives as the bytes of a WAV file.

// flacMostBits is what the library decodes: the format allows 32.
const flacMostBits = 24

// flacMasks are the loudspeakers RFC 9639 section 9.1.3 gives to three channels and more.
var flacMasks = [9]uint32{3: 0x7, 4: 0x33, 5: 0x37, 6: 0x3F, 7: 0x70F, 8: 0x63F}

// decoded is the PCM of a FLAC file: little-endian, left-justified, 8 bits with 128 as zero. Reading on from where the last
// read ended costs least; going back starts from the beginning of the file.
type decoded struct {
	src     io.ReaderAt
	size    int64
	format  sampleFormat
	frames  int64
	stream  *flac.Stream
	at      int64  // offset in the PCM of the first byte of block
	block   []byte // decoded, not yet passed over
	scratch []byte
}

// parseFLAC finds the format of a FLAC file and how long it is.
func parseFLAC(src io.ReaderAt, size int64) (layout, *decoded, error) {
	d := &decoded{src: src, size: size}
	if err := d.restart(); err != nil {
		return layout{}, nil, found(fmt.Errorf("a damaged FLAC file (%w)", err))
	}
	info := d.stream.Info
	f := sampleFormat{rateHz: int(info.SampleRate), channels: int(info.NChannels), validBits: int(info.BitsPerSample)}
	f.container = (f.validBits + 7) / 8
	switch {
	case f.validBits > flacMostBits:
		return layout{}, nil, found(fmt.Errorf("a FLAC file of %d bits a sample (%d at most)", f.validBits, flacMostBits))
	case f.rateHz == 0:
		return layout{}, nil, found(errors.New("a FLAC file with a sample rate of zero"))
	case f.rateHz < minRateHz || f.rateHz > maxRateHz:
		return layout{}, nil, found(fmt.Errorf("a sample rate of %d Hz (%d to %d Hz can be read)", f.rateHz, minRateHz, maxRateHz))
	}
	if f.channels < len(flacMasks) {
		f.mask = flacMasks[f.channels]
	}
	d.format = f
	out := layout{container: "FLAC", format: f, frames: int64(info.NSamples)}
	if !d.whole() {
		frames, err := d.count()
		if frames == 0 && err != nil {
			return layout{}, nil, found(fmt.Errorf("a damaged FLAC file (%w)", err))
		}
		if info.NSamples == 0 {
			out.notes = append(out.notes, "the header leaves the length of the audio open, as when written to a pipe; read to the end of the file")
		} else if frames != int64(info.NSamples) {
			out.notes = append(out.notes, fmt.Sprintf("the header promises %d frames, %d could be decoded; read as far as that", info.NSamples, frames))
		}
		out.frames = frames
		if err := d.restart(); err != nil {
			return layout{}, nil, err
		}
	}
	d.frames = out.frames
	return out, d, nil
}

// restart goes back to the first sample.
func (d *decoded) restart() (err error) {
	defer recovered(&err)
	d.stream, err = flac.New(io.NewSectionReader(d.src, 0, d.size))
	d.at, d.block = 0, nil
	return err
}

// next decodes the next frame.
func (d *decoded) next() (f *frame.Frame, err error) {
	defer recovered(&err)
	f, err = d.stream.ParseNext()
	if err != nil {
		return nil, err
	}
	if len(f.Subframes) != d.format.channels || f.BitsPerSample != 0 && int(f.BitsPerSample) != d.format.validBits {
		return nil, fmt.Errorf("a frame of %d channels and %d bits in a file of %d and %d", len(f.Subframes), f.BitsPerSample, d.format.channels, d.format.validBits)
	}
	return f, nil
}

// recovered makes an error of a panic of the decoder.
func recovered(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("not decodable: %v", r)
	}
}

// count decodes to the end, or to the first frame that cannot be decoded, and returns the number of samples a channel.
func (d *decoded) count() (frames int64, err error) {
	for {
		f, err := d.next()
		if errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
			return frames, nil
		}
		if err != nil {
			return frames, err
		}
		frames += int64(f.BlockSize)
	}
}

// whole tells whether the file ends with a sound frame that ends where the header says: then nothing is missing, and the
// file need not be decoded twice.
func (d *decoded) whole() bool {
	info := d.stream.Info
	if info.NSamples == 0 {
		return false
	}
	const longest = 1 << 20
	tail := make([]byte, min(d.size, longest))
	if readAt(d.src, tail, d.size-int64(len(tail))) != nil || len(tail) < 8 {
		return false
	}
	want := binary.BigEndian.Uint16(tail[len(tail)-2:])
	for i, tries := len(tail)-8, 0; i >= 0 && tries < 64; i-- {
		if tail[i] != 0xFF || tail[i+1]&0xFE != 0xF8 {
			continue
		}
		tries++
		if crc16(tail[i:len(tail)-2]) != want {
			continue
		}
		f, err := frame.New(bytes.NewReader(tail[i:]))
		if err != nil {
			continue
		}
		start := f.Num
		if f.HasFixedBlockSize {
			start *= uint64(info.BlockSizeMax)
		}
		return start+uint64(f.BlockSize) == info.NSamples
	}
	return false
}

// crc16 is the check sum of a frame: polynomial x^16 + x^15 + x^2 + 1, from 0 (RFC 9639 section 9.3).
func crc16(p []byte) uint16 {
	crc := uint16(0)
	for _, b := range p {
		crc = crc<<8 ^ crc16Table[byte(crc>>8)^b]
	}
	return crc
}

var crc16Table = func() (table [256]uint16) {
	for i := range table {
		crc := uint16(i) << 8
		for range 8 {
			if crc&0x8000 != 0 {
				crc = crc<<1 ^ 0x8005
			} else {
				crc <<= 1
			}
		}
		table[i] = crc
	}
	return table
}()

// ReadAt reads bytes of the PCM.
func (d *decoded) ReadAt(p []byte, at int64) (int, error) {
	if at < d.at {
		if err := d.restart(); err != nil {
			return 0, err
		}
	}
	done := 0
	for done < len(p) {
		if skip := at - d.at; skip < int64(len(d.block)) {
			n := copy(p[done:], d.block[skip:])
			done += n
			at += int64(n)
			continue
		}
		d.at += int64(len(d.block))
		d.block = nil
		f, err := d.next()
		if err != nil {
			if errors.Is(err, io.EOF) {
				return done, io.ErrUnexpectedEOF
			}
			return done, fmt.Errorf("damaged FLAC after sample %d (%w); export it again", d.at/int64(d.format.blockAlign()), err)
		}
		d.unpack(f)
	}
	return done, nil
}

// unpack turns a frame into bytes.
func (d *decoded) unpack(f *frame.Frame) {
	width, channels := d.format.container, d.format.channels
	n := int(f.BlockSize) * width * channels
	if cap(d.scratch) < n {
		d.scratch = make([]byte, n)
	}
	d.block = d.scratch[:n]
	shift := 8*width - d.format.validBits
	for c, sub := range f.Subframes {
		at := c * width
		for _, v := range sub.Samples {
			v <<= shift
			if at+width > n {
				break
			}
			switch width {
			case 1:
				d.block[at] = byte(v) ^ 0x80
			case 2:
				binary.LittleEndian.PutUint16(d.block[at:], uint16(v))
			case 3:
				d.block[at], d.block[at+1], d.block[at+2] = byte(v), byte(v>>8), byte(v>>16)
			default:
				binary.LittleEndian.PutUint32(d.block[at:], uint32(v))
			}
			at += width * channels
		}
	}
}
