package wavfile

import (
	"container/list"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"
)

// handle reads a file that may be closed in between: a session of five hundred tracks is summed with as few open files as
// the system allows. What is opened again has to be the same file.
type handle struct {
	path string
	was  os.FileInfo

	mutex sync.Mutex // held while it is read
	file  *os.File   // nil while it is closed
	place *list.Element
	done  bool
}

// opened lists the handles whose files are open, those read last in front.
var opened = struct {
	sync.Mutex
	handles *list.List
	coming  int // about to be opened
	most    int // 0 for any number
}{handles: list.New(), most: mostOpen()}

// newHandle opens a file.
func newHandle(path string) (*handle, error) {
	h := &handle{path: path}
	h.mutex.Lock()
	defer h.mutex.Unlock()
	return h, h.open()
}

// open opens the file, if need be after closing those read longest ago. The mutex is held.
func (h *handle) open() error {
	makeRoom()
	defer func() {
		opened.Lock()
		opened.coming--
		opened.Unlock()
	}()
	f, err := os.Open(h.path)
	if errors.Is(err, fs.ErrPermission) {
		return fmt.Errorf("%s: you are not allowed to read this file; change its permissions (%w)", h.path, fs.ErrPermission)
	}
	if err != nil {
		return err
	}
	st, err := f.Stat()
	if err == nil && h.was != nil && !os.SameFile(st, h.was) {
		err = fmt.Errorf("%s has been replaced while it was read; wait until nothing writes to it", h.path)
	}
	if err != nil {
		f.Close() //nolint:errcheck // only read
		return err
	}
	h.file, h.was = f, st
	opened.Lock()
	h.place = opened.handles.PushFront(h)
	opened.Unlock()
	return nil
}

// makeRoom closes files until there is room for one more, and counts that one as coming. Files that are being read stay open.
func makeRoom() {
	opened.Lock()
	defer opened.Unlock()
	for e := opened.handles.Back(); e != nil && opened.most > 0 && opened.handles.Len()+opened.coming >= opened.most; {
		h, before := e.Value.(*handle), e.Prev()
		if h.mutex.TryLock() {
			opened.handles.Remove(e)
			h.file.Close() //nolint:errcheck // only read
			h.file, h.place = nil, nil
			h.mutex.Unlock()
		}
		e = before
	}
	opened.coming++
}

// ReadAt reads as io.ReaderAt has it.
func (h *handle) ReadAt(p []byte, at int64) (int, error) {
	h.mutex.Lock()
	defer h.mutex.Unlock()
	switch {
	case h.done:
		return 0, os.ErrClosed
	case h.file == nil:
		if err := h.open(); err != nil {
			return 0, err
		}
	default:
		opened.Lock()
		opened.handles.MoveToFront(h.place)
		opened.Unlock()
	}
	return h.file.ReadAt(p, at)
}

// Close ends the reading.
func (h *handle) Close() error {
	h.mutex.Lock()
	defer h.mutex.Unlock()
	if h.done {
		return os.ErrClosed
	}
	h.done = true
	if h.file == nil {
		return nil
	}
	opened.Lock()
	opened.handles.Remove(h.place)
	opened.Unlock()
	return h.file.Close()
}
