package features

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// Cache keeps analyses between runs, one file each for the profile, the sketch and its waveforms, and one for the
// relations between the tracks of a session.
//
// An entry belongs to a file's absolute path and fingerprint (size, times, file number, pieces of it) and to the build of this program, so a
// changed file or a changed algorithm never finds an old figure. Entries are written under a temporary name, carry a
// SHA-256 of their content and are renamed into place: an entry that is cut short, damaged or of another kind counts
// as absent, and two processes at once can only replace a good entry by an equal one. All methods may be called from
// several goroutines.
type Cache struct {
	dir   string
	limit int64

	mutex sync.Mutex
	err   error
}

const (
	// cacheLimit bounds the cache's size in bytes: about a thousand tracks with their sketches.
	cacheLimit = 512 << 20
	// entryLimit is more than any entry takes.
	entryLimit = 64 << 20
	// settled is how old a modification time has to be for the file to be cached: within a tick of the file system's
	// clock, two seconds at worst, a file can change once more without showing it.
	settled = 2 * time.Second
	// stray is the age from which a temporary file is taken to be left over from a crash.
	stray = time.Hour

	profileSuffix = ".profile"
	sketchSuffix  = ".sketch"
	kinSuffix     = ".kin"
	lateSuffix    = ".late"
	tempPrefix    = "new-"
)

// OpenCache returns the cache in a folder, made when the first entry is written; with dir empty, in "foldout" below
// the user's cache folder (os.UserCacheDir). It fails where the system knows no such folder.
func OpenCache(dir string) (*Cache, error) {
	if dir == "" {
		base, err := os.UserCacheDir()
		if err != nil {
			return nil, fmt.Errorf("no folder for the profile cache: %w; measure without a cache", err)
		}
		dir = filepath.Join(base, "foldout")
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("profile cache: %w", err)
	}
	return &Cache{dir: dir, limit: cacheLimit}, nil
}

// Dir returns the folder of the cache.
func (c *Cache) Dir() string { return c.dir }

// Err returns the first trouble the cache had with writing, such as a full disk, or nil. Measuring goes on without.
func (c *Cache) Err() error {
	c.mutex.Lock()
	defer c.mutex.Unlock()
	return c.err
}

func (c *Cache) report(err error) {
	if err == nil || errors.Is(err, fs.ErrNotExist) { // another process was quicker to clear or trim
		return
	}
	c.mutex.Lock()
	defer c.mutex.Unlock()
	if c.err == nil {
		c.err = fmt.Errorf("profile cache: %w", err)
	}
}

// Clear removes every entry, and nothing else that may lie in the folder.
func (c *Cache) Clear() error {
	files, err := c.files()
	if err != nil {
		return err
	}
	for _, f := range files {
		if err := os.Remove(f.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("profile cache: %w", err)
		}
	}
	return nil
}

type cacheFile struct {
	path string
	size int64
	used time.Time
	temp bool
}

// files lists what the cache has written.
func (c *Cache) files() ([]cacheFile, error) {
	entries, err := os.ReadDir(c.dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("profile cache: %w", err)
	}
	var files []cacheFile
	for _, e := range entries {
		temp := strings.HasPrefix(e.Name(), tempPrefix)
		ours := slices.Contains([]string{profileSuffix, sketchSuffix, wavesSuffix, kinSuffix, memoSuffix, mixSuffix, lateSuffix}, filepath.Ext(e.Name()))
		if !ours || !e.Type().IsRegular() {
			continue
		}
		info, err := e.Info()
		if err != nil {
			continue // gone since
		}
		files = append(files, cacheFile{filepath.Join(c.dir, e.Name()), info.Size(), info.ModTime(), temp})
	}
	return files, nil
}

// trim drops the entries longest not used until the rest is within the limit, and what crashes have left.
func (c *Cache) trim() {
	files, err := c.files()
	if err != nil {
		c.report(err)
		return
	}
	slices.SortFunc(files, func(a, b cacheFile) int { return b.used.Compare(a.used) })
	var sum int64
	for _, f := range files {
		sum += f.size
		if sum > c.limit && !f.temp || f.temp && time.Since(f.used) > stray {
			c.report(os.Remove(f.path))
			sum -= f.size
		}
	}
}
