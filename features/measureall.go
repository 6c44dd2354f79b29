package features

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"

	"foldout/features/kinship"
)

// Options steer Measure and MeasureAll. The zero value measures on all cores, without cache and without sketches.
type Options struct {
	Workers    int    // files measured at a time; 0 for one per core
	Cache      *Cache // nil for none
	WithSketch bool   // fill in Analysis.Sketch, up to half a megabyte a file
	Folder     string // Profile.File is the path below it; without it, the file's own name

	// Starts says of files, by their path, at which sample of the session they begin, whatever their own time reference says.
	Starts map[string]int64

	// Progress is told how much of the files' bytes has been dealt with. It is called by one goroutine at a time.
	Progress func(doneBytes, totalBytes int64)
}

// Result is what became of one file: an Analysis, or the reason why there is none.
type Result struct {
	Path     string
	Analysis *Analysis
	Err      error
}

// MeasureAll measures files, each by one worker, the largest first, and returns their results in the order of paths.
// A file that cannot be measured has its error in its Result and does not stop the others. The error returned is
// that of the context, when it ends before the work does.
func MeasureAll(ctx context.Context, paths []string, opt Options) ([]Result, error) {
	results := make([]Result, len(paths))
	sizes := make([]int64, len(paths))
	order := make([]int, len(paths))
	var total int64
	for i, path := range paths {
		results[i].Path = path
		order[i] = i
		// A file that cannot be looked at counts as empty here; opening it will say what is wrong.
		if st, err := os.Stat(path); err == nil {
			sizes[i] = st.Size()
			total += sizes[i]
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(sizes[b], sizes[a]) })

	progress := newProgress(opt.Progress, total)
	workers := opt.Workers
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	next := make(chan int)
	var group sync.WaitGroup
	for range min(workers, len(paths)) {
		group.Go(func() {
			var p pass
			for i := range next {
				r := &results[i]
				r.Analysis, r.Err = p.lookUpOrMeasure(ctx, r.Path, opt, progress.file(sizes[i]))
			}
		})
	}
	for _, i := range order {
		next <- i
	}
	close(next)
	group.Wait()
	if opt.Cache != nil {
		opt.Cache.trim()
	}
	return results, ctx.Err()
}

// lookUpOrMeasure takes a file's analysis from the cache, or measures it and puts it there.
func (p *pass) lookUpOrMeasure(ctx context.Context, path string, opt Options, progress func(float64)) (*Analysis, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	defer progress(1)
	var entry cacheEntry
	if opt.Cache != nil {
		entry = opt.Cache.entry(path)
	}
	start, told := opt.Starts[path]
	entry.start = startOf{start, told}
	if told {
		entry.key += fmt.Sprintf("start %d\n", start)
	}
	a, found := entry.load(opt.WithSketch)
	if !found {
		// What is kept is kept whole, so that no later command has to read the file again for the sketch.
		sketching := opt.WithSketch || entry.usable
		var err error
		if a, err = p.measure(ctx, path, sketching, entry.start, progress); err != nil {
			return nil, err
		}
		entry.usable = entry.save(a, sketching)
	}
	if opt.WithSketch {
		a.place = entry
	} else {
		a.Sketch, a.waves = kinship.Sketch{}, nil
	}
	a.Path = path
	if opt.Folder == "" {
		a.Profile.File = filepath.Base(path)
		return a, nil
	}
	below, err := filepath.Rel(opt.Folder, path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	a.Profile.File = filepath.ToSlash(below)
	return a, nil
}

// progressSum adds up the progress of all workers.
type progressSum struct {
	mutex       sync.Mutex
	report      func(done, total int64)
	done, total int64
}

// reportBytes is how far a file moves on between two reports.
const reportBytes = 1 << 20

func newProgress(report func(done, total int64), total int64) *progressSum {
	return &progressSum{report: report, total: total}
}

// file returns a function to be called, by one goroutine, with the share 0..1 of a file dealt with.
func (s *progressSum) file(size int64) func(float64) {
	if s.report == nil {
		return func(float64) {}
	}
	var told int64
	return func(share float64) {
		now := int64(min(share, 1) * float64(size))
		if now-told < reportBytes && (share < 1 || now == told) {
			return
		}
		s.mutex.Lock()
		defer s.mutex.Unlock()
		s.done += now - told
		told = now
		s.report(s.done, s.total)
	}
}
