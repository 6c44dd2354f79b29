package wavfile

// pipeSize is the data size one common converter claims when it writes to a pipe; it rounds down to whole frames.
const (
	pipeSize      = 0x7FFFF000
	pipeSize24Bit = pipeSize - 1
)

// measureData settles how many bytes of samples there really are.
func (w *walker) measureData(c *chunk) {
	left := w.size - c.at
	switch {
	case c.size == left:
	case c.size == unknownSize || w.isPipeSize(c.size):
		if c.size < left && w.chunksFrom(c.at+c.size+c.size&1) {
			return
		}
		w.note("the header leaves the length of the audio open, as when written to a pipe; read to the end of the file")
		c.size, w.open = left, true
	case c.size == 0:
		if w.chunksFrom(c.at) {
			return
		}
		w.note("the header gives no audio length, as after a crash while recording; read to the end of the file")
		c.size, w.open = left, true
	case w.out.container == "RIFF" && left-c.size >= wrap && !w.chunksFrom(c.at+c.size+c.size&1):
		w.note("the header says %d bytes of audio, but the file goes on for %d: its size has passed 4 GiB, which a plain header cannot say; read to the end of the file", c.size, left)
		c.size, w.open = left, true
	case c.size > left:
		w.note("the header promises %d bytes of audio, the file holds %d; read to the end of the file", c.size, left)
		c.size = left
	}
}

// wrap is where 32-bit sizes start again at 0. A plain file that is longer than its header by that much or more, with no
// chunks after what the header calls audio, has sizes that have lost their upper bits.
const wrap = 1 << 32

func (w *walker) isPipeSize(size int64) bool {
	if size == pipeSize24Bit {
		return true
	}
	f, _, err := parseFormat(w.fmt)
	if err != nil {
		return false // finish refuses the file
	}
	align := int64(f.blockAlign())
	return size == pipeSize/align*align
}

// chunksFrom reports whether the file, from pos on, is nothing but whole chunks.
func (w *walker) chunksFrom(pos int64) bool {
	for range maxChunks {
		if pos == w.size || pos == w.size+1 { // the last pad byte may be missing
			return true
		}
		if w.size-pos < chunkHeaderBytes {
			return false
		}
		c, err := w.header(pos)
		if err != nil || !printable(c.id) || c.size > w.size-c.at {
			return false
		}
		pos = c.at + c.size + c.size&1
	}
	return false
}

// dropPad takes one byte off audio of open length where that byte may be the pad: in 8-bit mono a pad byte would read as
// a click at negative full scale. (With larger frames it counts as part of a frame.)
func (w *walker) dropPad(align int64) error {
	if !w.open || align != 1 || w.out.frames == 0 || w.out.frames%2 != 0 {
		return nil
	}
	last := make([]byte, 1)
	err := readAt(w.src, last, w.out.dataAt+w.out.frames-1)
	if err == nil && last[0] == 0 {
		w.out.frames--
	}
	return err
}
