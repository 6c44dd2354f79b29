// Package cores spreads work over the cores of the machine.
package cores

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Most is the number of goroutines that run at once.
func Most() int { return runtime.GOMAXPROCS(0) }

// Each calls do(worker, i) for every i below n, from at most the given number of goroutines; worker is below that number, so
// that each can have things of its own. It returns when all is done. With one worker nothing is started.
func Each(workers, n int, do func(worker, i int)) {
	if workers = min(workers, n); workers <= 1 {
		for i := range n {
			do(0, i)
		}
		return
	}
	var next atomic.Int64
	var group sync.WaitGroup
	for worker := range workers {
		group.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(worker, i)
			}
		})
	}
	group.Wait()
}
