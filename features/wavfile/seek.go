package wavfile

import "fmt"

// SeekFrame makes the next Read begin at the given frame, counted from the first of the file. The end of the file is a place
// too: the next Read then returns io.EOF. Places outside the file are an error, and the Reader stays where it was.
func (r *Reader) SeekFrame(frame int64) error {
	if frame < 0 || frame > r.info.Frames {
		return fmt.Errorf("%s: no frame %d in a file of %d", r.info.Path, frame, r.info.Frames)
	}
	here := r.info.Frames - r.left // of the next byte to read from src
	r.at += (frame - here) * int64(r.align)
	r.left = r.info.Frames - frame
	r.pending = nil
	return nil
}
