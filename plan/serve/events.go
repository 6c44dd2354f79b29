package serve

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// Events sends what happens to every page that listens, as server-sent events (WHATWG HTML, section 9.2). The zero value
// is ready. It is safe for use by several goroutines.
type Events struct {
	mu        sync.Mutex
	listeners map[chan []byte]bool
}

const (
	backlog   = 256              // events that a page may lag behind; then it is cut off, comes back and asks anew
	heartbeat = 10 * time.Second // so that both sides notice when the other is gone
)

// Send sends an event to all listeners: a name without line breaks, and a value that can be written as JSON. A value
// that cannot is a programmer's error.
func (e *Events) Send(name string, value any) {
	data, err := json.Marshal(value)
	if err != nil {
		panic(fmt.Sprintf("serve: event %s: %v", name, err))
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "event: %s\ndata: %s\n\n", name, data)
	e.mu.Lock()
	defer e.mu.Unlock()
	for c := range e.listeners {
		select {
		case c <- b.Bytes():
		default:
			delete(e.listeners, c)
			close(c)
		}
	}
}

// ServeHTTP sends the events that happen from now on, until the page leaves or the server ends. The first is always
// "hello", so that a page knows it listens; it should ask for the state only then.
func (e *Events) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	control := http.NewResponseController(w)
	if err := control.SetReadDeadline(time.Time{}); err != nil { // the body has ended, the connection stays
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	c := make(chan []byte, backlog)
	e.mu.Lock()
	if e.listeners == nil {
		e.listeners = map[chan []byte]bool{}
	}
	e.listeners[c] = true
	e.mu.Unlock()
	defer func() {
		e.mu.Lock()
		delete(e.listeners, c)
		e.mu.Unlock()
	}()
	w.Header().Set("Content-Type", "text/event-stream")
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	next := []byte("retry: 500\nevent: hello\ndata: {}\n\n")
	for {
		if _, err := w.Write(next); err != nil {
			return
		}
		if err := control.Flush(); err != nil {
			return
		}
		var open bool
		select {
		case next, open = <-c:
			if !open {
				return
			}
		case <-beat.C:
			next = []byte("event: beat\ndata: {}\n\n")
		case <-r.Context().Done():
			return
		}
	}
}
