package workbench

import (
	"context"
	"sync"
	"time"
)

// floor gives what is heard the right of way: work in the background that reads the same tracks waits while sound is asked
// for, and a moment longer where more is about to be. The zero value is ready.
type floor struct {
	mu    sync.Mutex
	asked int // requests under way
	until time.Time
}

const (
	stepBack  = 2 * time.Second        // the longest that a request is waited for: a listener may be slow
	moreSoon  = 500 * time.Millisecond // after the beginning of a sound, whose next ranges follow at once
	glanceFor = 5 * time.Millisecond   // between two looks at whether the floor is free
)

// take is called when sound is asked for; done, when it has been given. With begins, it is the beginning of what is heard.
func (f *floor) take(begins bool) (done func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.asked++
	f.until = later(f.until, time.Now().Add(stepBack))
	return func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		f.asked--
		if f.asked > 0 {
			return
		}
		f.until = time.Now()
		if begins {
			f.until = f.until.Add(moreSoon)
		}
	}
}

// wait returns when the floor is free, or the context ends.
func (f *floor) wait(ctx context.Context) {
	for ctx.Err() == nil {
		f.mu.Lock()
		free := time.Now().After(f.until)
		f.mu.Unlock()
		if free {
			return
		}
		select {
		case <-time.After(glanceFor):
		case <-ctx.Done():
		}
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
