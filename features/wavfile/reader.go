package wavfile

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// rawBytes is how much of a file is read at a time: large enough that the system call costs nothing, small enough to stay
// in the second-level cache while it is unpacked.
const rawBytes = 128 << 10

// Reader streams the samples of one file. It is not safe for use by several goroutines at once.
type Reader struct {
	info      Info
	src       io.ReaderAt
	close     func() error
	align     int   // bytes of a frame
	container int   // bytes of a sample
	at        int64 // offset of the next byte to read from src
	left      int64 // frames not yet read from src
	raw       []byte
	pending   []byte // part of raw not yet unpacked
	nonFinite int64
	wild      int64
	float     bool
	unpack32  unpacker[float32]
	unpack64  unpacker[float64]
}

// ReadInfo opens a file as Open does, for what it says of itself alone.
func ReadInfo(path string) (Info, error) {
	r, err := Open(path)
	if err != nil {
		return Info{}, err
	}
	return r.Info(), r.Close()
}

// Open opens a WAV, AIFF, AIFF-C or FLAC file for reading only, whatever its name; its first bytes decide. A file of another kind gives a *FormatError; an unreadable one, the system's
// error. Both name the file.
func Open(path string) (*Reader, error) {
	st, err := os.Stat(path) // before opening: opening a named pipe would wait for its writer
	if err != nil {
		return nil, err
	}
	if st.IsDir() {
		return nil, &FormatError{Path: path, Found: "a folder"}
	}
	if !st.Mode().IsRegular() {
		return nil, &FormatError{Path: path, Found: "a pipe or device, not a file"}
	}
	f, err := newHandle(path)
	if err != nil {
		return nil, err
	}
	r, err := newReader(path, f, st.Size())
	if err != nil {
		if closeErr := f.Close(); closeErr != nil {
			return nil, errors.Join(err, closeErr)
		}
		return nil, err
	}
	r.close = f.Close
	return r, nil
}

// newReader reads from any source of the given size; path is for messages.
func newReader(path string, src io.ReaderAt, size int64) (*Reader, error) {
	l, src, err := locate(src, size)
	if refusal := (errFound{}); errors.As(err, &refusal) {
		return nil, &FormatError{Path: path, Found: refusal.Error()}
	}
	if err != nil {
		return nil, fmt.Errorf("%s: reading the header: %w", path, err)
	}
	align := l.format.blockAlign()
	return &Reader{
		info: Info{
			Path:          path,
			Container:     l.container,
			SampleRateHz:  l.format.rateHz,
			Channels:      l.format.channels,
			BitDepth:      l.format.validBits,
			ContainerBits: l.format.container * 8,
			Float:         l.format.float,
			ChannelMask:   l.format.mask,
			Frames:        l.frames,
			Bext:          l.bext,
			Notes:         l.notes,
		},
		src:       src,
		close:     func() error { return nil },
		align:     align,
		container: l.format.container,
		float:     l.format.float,
		at:        l.dataAt,
		left:      l.frames,
		raw:       make([]byte, rawBytes/align*align+slack),
		unpack32:  newUnpacker32(l.format),
		unpack64:  newUnpacker[float64](l.format),
	}, nil
}

// locate tells by the first bytes what kind of file it is, and returns where things lie in it and from where its samples
// are read.
func locate(src io.ReaderAt, size int64) (layout, io.ReaderAt, error) {
	head := make([]byte, min(size, riffHeaderBytes))
	if err := readAt(src, head, 0); err != nil {
		return layout{}, nil, err
	}
	switch kind := string(head); {
	case strings.HasPrefix(kind, "fLaC"):
		l, pcm, err := parseFLAC(src, size)
		return l, pcm, err
	case len(kind) == riffHeaderBytes && kind[:4] == "FORM" && (kind[8:] == "AIFF" || kind[8:] == "AIFC"):
		l, pcm, err := parseAIFF(src, size)
		return l, pcm, err
	}
	l, err := parse(src, size)
	return l, src, err
}

// Info tells what the header says and how many frames can be read.
func (r *Reader) Info() Info { return r.info }

// NonFinite is the number of NaN and infinite samples replaced by 0 so far.
func (r *Reader) NonFinite() int64 { return r.nonFinite }

// Wild is the number of samples so far that lay beyond wildest and were taken as full scale.
func (r *Reader) Wild() int64 { return r.wild }

// Close closes the file.
func (r *Reader) Close() error { return r.close() }

// Read fills dst, one plane per channel and all of one length, with the next frames and returns how many they are:
// fewer than the planes hold only at the end, then 0 and io.EOF. Samples of 32-bit PCM and 64-bit float are rounded to
// float32; floats beyond 1e20 become full scale, with their sign (see Wild).
func (r *Reader) Read(dst [][]float32) (int, error) { return read(r, dst, r.unpack32) }

// ReadFloat64 is Read with the full precision of 32-bit PCM and 64-bit float.
func (r *Reader) ReadFloat64(dst [][]float64) (int, error) { return read(r, dst, r.unpack64) }

func read[T sample](r *Reader, dst [][]T, unpack unpacker[T]) (int, error) {
	want, err := planeLen(dst, r.info.Channels)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", r.info.Path, err)
	}
	done := 0
	for done < want {
		if len(r.pending) <= slack {
			if r.left == 0 {
				break
			}
			if err := r.fill(); err != nil {
				return done, err
			}
		}
		n := min(want-done, (len(r.pending)-slack)/r.align)
		for ch, plane := range dst {
			r.nonFinite += unpack(plane[done:done+n], r.pending[ch*r.container:], r.align)
			if r.float {
				r.wild += bound(plane[done : done+n])
			}
		}
		r.pending = r.pending[n*r.align:]
		done += n
	}
	if done == 0 && want > 0 {
		return 0, io.EOF
	}
	return done, nil
}

// fill reads the next block of whole frames.
func (r *Reader) fill() error {
	frames := min(r.left, int64((len(r.raw)-slack)/r.align))
	block := r.raw[:int(frames)*r.align]
	if err := readAt(r.src, block, r.at); err != nil {
		return fmt.Errorf("%s: reading at byte %d: %w", r.info.Path, r.at, err)
	}
	r.at += int64(len(block))
	r.left -= frames
	r.pending = r.raw[:len(block)+slack]
	return nil
}

// planeLen checks that there is a plane per channel and that all have one length, which it returns.
func planeLen[T sample](planes [][]T, channels int) (int, error) {
	if len(planes) != channels {
		return 0, fmt.Errorf("%d planes for %d channels", len(planes), channels)
	}
	n := len(planes[0])
	for _, p := range planes {
		if len(p) != n {
			return 0, fmt.Errorf("planes of different lengths (%d and %d)", n, len(p))
		}
	}
	return n, nil
}
