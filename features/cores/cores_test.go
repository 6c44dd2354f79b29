package cores

import (
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestEveryPieceIsDoneOnce(t *testing.T) {
	for _, workers := range []int{0, 1, 2, 7} {
		for _, n := range []int{0, 1, 5, 1000} {
			done := make([]atomic.Int32, n)
			var beyond atomic.Bool
			Each(workers, n, func(worker, i int) {
				if worker < 0 || worker >= max(1, workers) {
					beyond.Store(true)
				}
				done[i].Add(1)
			})
			assert.False(t, beyond.Load())
			for i := range done {
				assert.EqualValues(t, 1, done[i].Load(), "%d workers, piece %d of %d", workers, i, n)
			}
		}
	}
}
