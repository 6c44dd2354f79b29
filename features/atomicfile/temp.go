package atomicfile

import (
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
)

// A temporary file is called .foldout-HOST-PID-RANDOM.tmp: its owner can be looked up, on the machine that wrote it.
const (
	tempPrefix = ".foldout-"
	tempSuffix = ".tmp"
)

// host is a short fingerprint of the machine's name.
var host = sync.OnceValue(func() string {
	name, err := os.Hostname()
	if err != nil {
		return "" // nothing is swept then
	}
	h := fnv.New32a()
	h.Write([]byte(name)) //nolint:errcheck // never fails
	return fmt.Sprintf("%08x", h.Sum32())
})

// createTemp makes a new file in dir with the permissions any new file gets.
func createTemp(dir string) (*os.File, error) {
	for range 100 {
		f, err := os.OpenFile(tempName(dir), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
	return nil, &fs.PathError{Op: "create", Path: dir, Err: errors.New("no free temporary name")}
}

func tempName(dir string) string {
	return filepath.Join(dir, fmt.Sprintf("%s%s-%d-%016x%s", tempPrefix, host(), os.Getpid(), rand.Uint64(), tempSuffix))
}

// swept holds the folders that this process has looked through.
var swept sync.Map

// sweep removes temporary files and folders in dir whose owner, a process of this machine, is gone. It never fails: what cannot be
// removed harms nothing.
func sweep(dir string) {
	if _, done := swept.LoadOrStore(dir, true); done || host() == "" {
		return
	}
	names, err := filepath.Glob(filepath.Join(escape(dir), tempPrefix+host()+"-*"+tempSuffix))
	if err != nil {
		return
	}
	for _, name := range names {
		if pid, ok := owner(filepath.Base(name)); ok && gone(pid) {
			os.RemoveAll(name) //nolint:errcheck // see above
		}
	}
}

// escape hides the characters of a folder's name that a pattern would read.
func escape(dir string) string {
	if filepath.Separator == '\\' {
		return dir // patterns know no escape there; a folder with such a name is not swept
	}
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(dir)
}

// owner reads the process from the name of a temporary file.
func owner(name string) (pid int, ok bool) {
	parts := strings.Split(strings.TrimSuffix(strings.TrimPrefix(name, tempPrefix), tempSuffix), "-")
	if len(parts) != 3 {
		return 0, false
	}
	pid, err := strconv.Atoi(parts[1])
	return pid, err == nil && pid > 0
}
