package wavfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/go-audio/riff"
)

// layout is where things lie in a file.
type layout struct {
	container string
	format    sampleFormat
	dataAt    int64 // offset of the first sample
	frames    int64
	bext      *Bext
	notes     []string
}

const (
	riffHeaderBytes  = 12
	chunkHeaderBytes = 8
	maxChunks        = 4096 // a damaged file may hold millions of empty ones
	unknownSize      = math.MaxUint32
)

// errFound marks a refusal: its text is what was found, to be put into a FormatError.
type errFound struct{ error }

func found(err error) error { return errFound{err} }

// walker steps through the chunks of one file.
type walker struct {
	src   io.ReaderAt
	size  int64 // of the file
	long  map[string]int64
	fmt   []byte
	data  chunk
	seen  map[string]bool
	out   layout
	count int
	open  bool // the samples go on to the end of the file because no header says where they end
}

// chunk is a chunk's place: payload from at, of the size its header (or ds64) gives.
type chunk struct {
	id   string
	at   int64
	size int64
}

// parse finds format, samples and bext in a file of the given size. Refusals are errFound; other errors come from src.
func parse(src io.ReaderAt, size int64) (layout, error) {
	w := &walker{src: src, size: size, long: map[string]int64{}, seen: map[string]bool{}}
	head := make([]byte, min(size, 64))
	if err := readAt(src, head, 0); err != nil {
		return layout{}, err
	}
	if len(head) < riffHeaderBytes || !knownContainer(string(head[:4])) || string(head[8:12]) != "WAVE" {
		return layout{}, found(errors.New(sniff(head)))
	}
	w.out.container = string(head[:4])
	if err := w.walk(riffHeaderBytes); err != nil {
		return layout{}, err
	}
	return w.finish()
}

func knownContainer(id string) bool { return id == "RIFF" || id == "RF64" || id == "BW64" }

// finish checks that everything needed was found and counts the frames.
func (w *walker) finish() (layout, error) {
	if w.fmt == nil {
		return layout{}, found(errors.New("a WAV file without a format chunk"))
	}
	format, notes, err := parseFormat(w.fmt)
	if err != nil {
		return layout{}, found(err)
	}
	if w.data.id == "" {
		return layout{}, found(errors.New("a WAV file with no data chunk"))
	}
	w.out.format = format
	w.out.notes = append(w.out.notes, notes...)
	w.out.dataAt = w.data.at
	align := int64(format.blockAlign())
	w.out.frames = w.data.size / align
	if part := w.data.size % align; part != 0 {
		w.note("the last %d bytes are part of a frame and were dropped", part)
	}
	err = w.dropPad(align)
	return w.out, err
}

func (w *walker) note(format string, args ...any) {
	w.out.notes = append(w.out.notes, fmt.Sprintf(format, args...))
}

// walk visits the chunks from offset pos to the end of the file.
func (w *walker) walk(pos int64) error {
	for w.size-pos >= chunkHeaderBytes {
		c, err := w.header(pos)
		if err != nil {
			return err
		}
		if w.count++; !printable(c.id) || w.count > maxChunks {
			if w.data.id == "" {
				return found(fmt.Errorf("a damaged WAV file (no chunk where one should be, at byte %d)", pos))
			}
			w.note("%d bytes after the audio are not chunks and were ignored", w.size-pos)
			return nil
		}
		if c.id == "data" && w.data.id == "" {
			w.measureData(&c)
			w.data = c
		} else if c.size > w.size-c.at {
			w.note("chunk %q is cut short by the end of the file", c.id)
			c.size = w.size - c.at
		}
		if err := w.visit(c); err != nil {
			return err
		}
		if pos, err = w.next(c); err != nil {
			return err
		}
	}
	return nil
}

// visit takes what is needed from a chunk.
func (w *walker) visit(c chunk) error {
	first := !w.seen[c.id]
	w.seen[c.id] = true
	switch {
	case c.id == "data" && !first:
		w.note("a second data chunk was ignored")
	case c.id == "fmt " && first:
		p, err := w.payload(c, fmtExtensibleBytes)
		w.fmt = p
		return err
	case c.id == "ds64" && first && w.out.container != "RIFF":
		return w.readDS64(c)
	case c.id == "bext" && first:
		p, err := w.payload(c, bextMaxBytes)
		if err != nil {
			return err
		}
		if len(p) < bextVersion {
			w.note("the bext chunk is cut short and was ignored")
			return nil
		}
		w.out.bext = parseBext(p)
	}
	return nil
}

// payload reads at most limit bytes of a chunk.
func (w *walker) payload(c chunk, limit int64) ([]byte, error) {
	p := make([]byte, min(c.size, limit))
	return p, readAt(w.src, p, c.at)
}

// readDS64 takes the 64-bit sizes; the one for samples is kept under "data".
func (w *walker) readDS64(c chunk) error {
	const fixed, entry, maxEntries = 28, 12, 1024
	p, err := w.payload(c, fixed+entry*maxEntries)
	if err != nil {
		return err
	}
	if len(p) < 24 {
		w.note("the ds64 chunk is cut short and was ignored")
		return nil
	}
	w.keepLong("data", binary.LittleEndian.Uint64(p[8:]))
	for p = p[min(len(p), fixed):]; len(p) >= entry; p = p[entry:] {
		if id := string(p[:4]); id != "data" {
			w.keepLong(id, binary.LittleEndian.Uint64(p[4:]))
		}
	}
	return nil
}

func (w *walker) keepLong(id string, size uint64) {
	w.long[id] = int64(min(size, math.MaxInt64))
}

// header reads the chunk header at pos, of which all eight bytes are in the file.
func (w *walker) header(pos int64) (chunk, error) {
	id, size, err := riff.New(io.NewSectionReader(w.src, pos, chunkHeaderBytes)).IDnSize()
	if err != nil {
		return chunk{}, err
	}
	c := chunk{id: string(id[:]), at: pos + chunkHeaderBytes, size: int64(size)}
	if long, ok := w.long[c.id]; ok && size == unknownSize {
		c.size = long
	}
	return c, nil
}

// next is where the chunk after c starts. Some programs forget the pad byte; then a printable id starts at once.
func (w *walker) next(c chunk) (int64, error) {
	end := c.at + c.size
	if c.size%2 == 0 || w.size-end < chunkHeaderBytes {
		return end + c.size%2, nil
	}
	id := make([]byte, 4)
	if err := readAt(w.src, id, end); err != nil {
		return 0, err
	}
	if printable(string(id)) {
		w.note("chunk %q lacks its pad byte", c.id)
		return end, nil
	}
	return end + 1, nil
}

// printable reports whether id can be a chunk's name.
func printable(id string) bool {
	for i := range len(id) {
		if id[i] < ' ' || id[i] > '~' {
			return false
		}
	}
	return true
}

// readAt fills p, all of which lies within the file.
func readAt(src io.ReaderAt, p []byte, at int64) error {
	n, err := src.ReadAt(p, at)
	if n == len(p) {
		return nil
	}
	if err == nil || errors.Is(err, io.EOF) {
		err = io.ErrUnexpectedEOF
	}
	return err
}
