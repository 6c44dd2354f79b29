package wavfile

import (
	"errors"
	"fmt"
	"io/fs"
	"math"

	"foldout/features/atomicfile"
)

// Encoding is how samples are stored.
type Encoding int

// The encodings a Writer offers.
const (
	PCM16 Encoding = iota
	PCM24
	Float32
)

func (e Encoding) bits() int {
	switch e {
	case PCM16:
		return 16
	case PCM24:
		return 24
	}
	return 32
}

// Format says what to write.
type Format struct {
	SampleRateHz int // 8000..384000
	Channels     int // 1..64
	Encoding     Encoding
	Bext         *Bext  // nil for none; copied by Create
	Dither       bool   // triangular dither before rounding to PCM; Float32 rounds nothing and takes none
	Seed         uint64 // of the dither; the same seed gives the same file
}

func (f Format) blockAlign() int { return f.Channels * f.Encoding.bits() / 8 }

// extensible reports whether the header must be extensible: above 16 bits or above two channels.
func (f Format) extensible() bool { return f.Encoding != PCM16 || f.Channels > 2 }

func (f Format) check() error {
	switch {
	case f.Channels < 1 || f.Channels > maxChannels:
		return fmt.Errorf("%d channels, 1 to %d can be written", f.Channels, maxChannels)
	case f.SampleRateHz < minRateHz || f.SampleRateHz > maxRateHz:
		return fmt.Errorf("sample rate of %d Hz, %d to %d Hz can be written", f.SampleRateHz, minRateHz, maxRateHz)
	case f.Encoding < PCM16 || f.Encoding > Float32:
		return fmt.Errorf("unknown encoding %d", f.Encoding)
	case f.Bext != nil && f.Bext.TimeReference < 0:
		return fmt.Errorf("time reference of %d samples, before midnight", f.Bext.TimeReference)
	case f.Bext != nil && len(f.Bext.CodingHistory) > bextMaxBytes-bextHistory:
		return fmt.Errorf("coding history of %d bytes, %d at most", len(f.Bext.CodingHistory), bextMaxBytes-bextHistory)
	}
	return nil
}

// Writer writes one file under a temporary name in the same folder. Close gives it its name; Abort removes it. Not
// safe for use by several goroutines at once.
type Writer struct {
	path    string
	format  Format
	file    *atomicfile.File
	encoder *encoder
	raw     []byte
	filled  int // bytes of raw waiting to be written
	frames  int64
	limit   int64 // RIFF size beyond which the file becomes RF64
	err     error // the first failure; nothing is written after it
	done    bool
}

// Create starts a file. Without overwrite an existing file of that name is an error (fs.ErrExist), now and at Close.
//
// The usual course is Create, defer Abort, Write as often as needed, Close: Abort after Close does nothing.
func Create(path string, f Format, overwrite bool) (*Writer, error) {
	if err := f.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if f.Bext != nil {
		bext := *f.Bext // the header is written again at Close and must keep its length
		f.Bext = &bext
	}
	file, err := atomicfile.Create(path, atomicfile.Options{Replace: overwrite})
	if err != nil {
		return nil, err
	}
	w := &Writer{
		path:    path,
		format:  f,
		file:    file,
		encoder: newEncoder(f),
		raw:     make([]byte, rawBytes/f.blockAlign()*f.blockAlign()),
		limit:   math.MaxUint32,
	}
	if _, err := file.Write(header(f, 0, w.limit)); err != nil {
		return nil, errors.Join(err, w.Abort())
	}
	return w, nil
}

// Write appends frames: src has one plane per channel, all of one length. PCM is rounded to the nearest value and
// clipped at full scale, see Clipped. A NaN or infinite sample is an error. After an error the file cannot be
// finished.
func (w *Writer) Write(src [][]float32) error { return write(w, src) }

// WriteFloat64 is Write for double precision.
func (w *Writer) WriteFloat64(src [][]float64) error { return write(w, src) }

func write[T sample](w *Writer, src [][]T) error {
	if w.done {
		return &fs.PathError{Op: "write", Path: w.path, Err: fs.ErrClosed}
	}
	if w.err != nil {
		return w.err
	}
	want, err := planeLen(src, w.format.Channels)
	if err != nil {
		return w.fail(err)
	}
	align := w.format.blockAlign()
	bytes := w.format.Encoding.bits() / 8
	for done := 0; done < want; {
		if w.filled == len(w.raw) {
			if err := w.flush(); err != nil {
				return err
			}
		}
		n := min(want-done, (len(w.raw)-w.filled)/align)
		for ch, plane := range src {
			if err := encodePlane(w.encoder, w.raw[w.filled+ch*bytes:], plane[done:done+n], ch, align); err != nil {
				return w.fail(fmt.Errorf("channel %d, block from frame %d: %w", ch+1, w.frames, err))
			}
		}
		w.filled += n * align
		w.frames += int64(n)
		done += n
	}
	return nil
}

func (w *Writer) flush() error {
	_, err := w.file.Write(w.raw[:w.filled])
	w.filled = 0
	if err != nil {
		return w.fail(err)
	}
	return nil
}

func (w *Writer) fail(err error) error {
	w.err = fmt.Errorf("%s: %w", w.path, err)
	return w.err
}

// Clipped is the number of samples so far that did not fit the encoding and were set to its nearest extreme.
func (w *Writer) Clipped() int64 { return w.encoder.clipped }

// Close completes the file and gives it its name. On any error, also one of an earlier Write, nothing is left behind.
func (w *Writer) Close() error {
	if w.done {
		return &fs.PathError{Op: "close", Path: w.path, Err: fs.ErrClosed}
	}
	if err := w.finish(); err != nil {
		return errors.Join(err, w.Abort())
	}
	w.done = true
	return w.file.Commit()
}

// finish writes what is buffered, the pad byte and the true header.
func (w *Writer) finish() error {
	if w.err != nil {
		return w.err
	}
	if err := w.flush(); err != nil {
		return err
	}
	if w.frames*int64(w.format.blockAlign())%2 == 1 {
		if _, err := w.file.Write([]byte{0}); err != nil {
			return w.fail(err)
		}
	}
	if _, err := w.file.WriteAt(header(w.format, w.frames, w.limit), 0); err != nil {
		return w.fail(err)
	}
	return nil
}

// Abort removes the temporary file. After Close or Abort it does nothing.
func (w *Writer) Abort() error {
	if w.done {
		return nil
	}
	w.done = true
	return w.file.Abort()
}
