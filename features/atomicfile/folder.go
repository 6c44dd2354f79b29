package atomicfile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Folder is a folder that appears whole or not at all. Fill Temp, then Commit or Abort.
type Folder struct {
	Temp string // the hidden folder to fill
	path string
	keep func()
}

// CreateFolder begins a folder that will be called path; the folder above it is made if need be.
func CreateFolder(path string) (*Folder, error) {
	defer Hold()()
	above := filepath.Dir(path)
	if err := os.MkdirAll(above, 0o777); err != nil {
		return nil, err
	}
	sweep(above)
	for range 100 {
		temp := tempName(above)
		err := os.Mkdir(temp, 0o777)
		if err == nil {
			return &Folder{Temp: temp, path: path, keep: Waste(temp)}, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return nil, &fs.PathError{Op: "create", Path: path, Err: err}
		}
	}
	return nil, &fs.PathError{Op: "create", Path: path, Err: errors.New("no free temporary name")}
}

// Commit gives the folder its name. An empty folder of that name is replaced; anything else there is an error, and then
// the hidden folder is removed.
func (f *Folder) Commit() error {
	defer Hold()()
	if st, err := os.Lstat(f.path); err == nil && st.IsDir() {
		if err := os.Remove(f.path); err != nil { // takes only an empty one
			return errors.Join(err, f.Abort())
		}
	}
	if _, err := os.Lstat(f.path); err == nil {
		return errors.Join(&fs.PathError{Op: "create", Path: f.path, Err: fs.ErrExist}, f.Abort())
	}
	if err := os.Rename(f.Temp, f.path); err != nil {
		return errors.Join(err, f.Abort())
	}
	f.keep()
	syncDir(filepath.Dir(f.path))
	return nil
}

// Abort removes the hidden folder.
func (f *Folder) Abort() error {
	defer f.keep()
	return os.RemoveAll(f.Temp)
}
