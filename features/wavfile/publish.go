package wavfile

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// createTemp makes a new file in dir with the permissions any new file gets.
func createTemp(dir string) (*os.File, error) {
	for range 100 {
		name := filepath.Join(dir, fmt.Sprintf(".foldout-%016x.tmp", rand.Uint64()))
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
	return nil, &fs.PathError{Op: "create", Path: dir, Err: errors.New("no free temporary name")}
}

// publish renames temp to path. Without overwrite it first claims the name with an empty file, which fails if someone
// else has taken it since Create.
func publish(temp, path string, overwrite bool) error {
	if overwrite {
		return os.Rename(temp, path)
	}
	claim, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	if err := claim.Close(); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	if err := os.Rename(temp, path); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return nil
}
