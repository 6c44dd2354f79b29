package atomicfile

import (
	"os"
	"path/filepath"
	"sync"
)

// underway is what a program that is told to stop has to finish or to clear away.
var underway = struct {
	sync.Mutex
	free    *sync.Cond
	held    int  // steps that must not be cut in two
	stopped bool // nothing begins any more
	waste   map[string]func()
}{waste: map[string]func(){}}

func init() { underway.free = sync.NewCond(&underway.Mutex) }

// Hold keeps Stop waiting until release is called, once, so that a step such as the naming of several files is not cut in
// two. Holds may be nested. After Stop it never returns: the program is about to end.
func Hold() (release func()) {
	underway.Lock()
	defer underway.Unlock()
	if underway.stopped {
		underway.Unlock()
		select {}
	}
	underway.held++
	return sync.OnceFunc(func() {
		underway.Lock()
		defer underway.Unlock()
		underway.held--
		underway.free.Broadcast()
	})
}

// Waste has Stop remove a file or folder, with all that is in it, until keep is called.
func Waste(path string) (keep func()) { return waste(path, func() {}) }

func waste(path string, before func()) (keep func()) {
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	underway.Lock()
	defer underway.Unlock()
	underway.waste[path] = before
	return func() {
		underway.Lock()
		defer underway.Unlock()
		delete(underway.waste, path)
	}
}

// Stop is for a program that ends at once: it waits for what is held, lets nothing begin any more and removes what is half
// made. Call os.Exit next.
func Stop() {
	underway.Lock()
	defer underway.Unlock()
	for underway.held > 0 {
		underway.free.Wait()
	}
	underway.stopped = true
	for path, before := range underway.waste {
		before()
		os.RemoveAll(path) //nolint:errcheck // the next run clears what stays
	}
}
