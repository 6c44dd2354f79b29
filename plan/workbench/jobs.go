package workbench

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// job is work in the background that a person waits for.
type job struct {
	done, total int64
	over        bool
	fault       string
	cancel      context.CancelFunc
}

// JobView is a job as the page shows it.
type JobView struct {
	Name  string `json:"name"`
	Done  int64  `json:"done"`
	Total int64  `json:"total"`
	Over  bool   `json:"over"`
	Fault string `json:"fault"`
}

func (j *job) view(name string) JobView { return JobView{name, j.done, j.total, j.over, j.fault} }

// run begins a job under a name; one of that name that is under way goes on and is an error. do gets a context that ends
// with the session or when the person stops it, and must not hold the session's lock while it works.
func (s *session) run(name string, do func(ctx context.Context, progress func(done, total int64)) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if j := s.jobs[name]; j != nil && !j.over {
		return fmt.Errorf("%s is under way already", name)
	}
	ctx, cancel := context.WithCancel(s.life)
	j := &job{total: 1, cancel: cancel}
	s.jobs[name] = j
	s.touch()
	go func() {
		defer cancel()
		var told time.Time
		err := do(ctx, func(done, total int64) {
			s.mu.Lock()
			j.done, j.total = done, total
			v, due := j.view(name), time.Since(told) > 100*time.Millisecond
			if due {
				told = time.Now()
			}
			s.mu.Unlock()
			if due {
				s.b.events.Send("job", v)
			}
		})
		s.mu.Lock()
		defer s.mu.Unlock()
		j.over = true
		switch {
		case errors.Is(err, context.Canceled):
			j.fault = "stopped; nothing was left half-written"
		case err != nil:
			j.fault = err.Error()
		default:
			j.done = j.total
		}
		s.touch()
	}()
	return nil
}

// halt stops a job.
func (s *session) halt(name string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if j := s.jobs[name]; j != nil && !j.over {
		j.cancel()
	}
}
