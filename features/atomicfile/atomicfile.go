// Package atomicfile writes files that appear whole or not at all.
//
// A file is written under a hidden temporary name in the folder where it will stand, synced to the disk and only then given
// its own name. Without Replace a file that came in between is never replaced: the name is given by an operation of the
// system that fails if the name is taken. A program that is killed leaves a hidden temporary file at most; the next one that
// writes into that folder removes it once its owner is certainly gone.
package atomicfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Options say what may be replaced.
type Options struct {
	// Replace allows an existing file to be replaced; it keeps its permissions.
	Replace bool
	// Inputs are files that were read to make this one: they are never replaced, under whatever name.
	Inputs []string
	// Since is the file as it was when it was read, to be written anew: what has changed meanwhile is not replaced (ErrChanged).
	Since fs.FileInfo
	// Fast leaves out the syncs to the disk, for files that can be made again.
	Fast bool
}

// ErrChanged says that somebody else has written a file since it was read.
var ErrChanged = errors.New("was changed meanwhile by another program, and is left as it is; try again")

// File is a file on its way. Write to it, then Commit or Abort.
type File struct {
	*os.File
	path string
	opt  Options
	keep func()      // takes the temporary file out of what Stop removes
	mode fs.FileMode // of the file that is replaced; 0 for none
	done bool
}

// Create begins a file that will be called path. It fails if path is a folder, is one of the inputs, or exists without
// opt.Replace (fs.ErrExist). Errors name path.
func Create(path string, opt Options) (*File, error) {
	mode, err := check(path, opt)
	if err != nil {
		return nil, err
	}
	defer Hold()()
	dir := filepath.Dir(path)
	sweep(dir)
	temp, err := createTemp(dir)
	if err != nil {
		var p *fs.PathError
		if errors.As(err, &p) {
			err = p.Err // the name of the temporary file says nothing
		}
		return nil, &fs.PathError{Op: "create", Path: path, Err: err}
	}
	f := &File{File: temp, path: path, opt: opt, mode: mode}
	f.keep = waste(temp.Name(), func() { temp.Close() }) //nolint:errcheck // it is removed next
	return f, nil
}

// check looks at what stands at path now and returns the permissions to keep.
func check(path string, opt Options) (fs.FileMode, error) {
	for _, input := range opt.Inputs {
		if same(path, input) {
			return 0, fmt.Errorf("%s: is read here, and foldout never writes over what it reads; choose another name", path)
		}
	}
	st, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if _, err := os.Lstat(path); err == nil { // a link that leads nowhere
			return 0, &fs.PathError{Op: "create", Path: path, Err: fs.ErrExist}
		}
		return 0, nil
	case err != nil:
		return 0, err
	case st.IsDir():
		return 0, &fs.PathError{Op: "create", Path: path, Err: errors.New("is a folder")}
	case !opt.Replace:
		return 0, &fs.PathError{Op: "create", Path: path, Err: fs.ErrExist}
	}
	return st.Mode().Perm(), nil
}

// same tells whether two names lead to one file.
func same(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

// Path is the name the file will have.
func (f *File) Path() string { return f.path }

// Commit syncs the file and gives it its name. On any error nothing is left behind and whatever stood at the name still
// stands there. Without Replace the error is fs.ErrExist if the name was taken in the meantime.
func (f *File) Commit() error {
	if f.done {
		return &fs.PathError{Op: "commit", Path: f.path, Err: fs.ErrClosed}
	}
	f.done = true
	if err := f.commit(); err != nil {
		return errors.Join(f.named(err), f.remove())
	}
	return nil
}

func (f *File) commit() error {
	if f.mode != 0 {
		if err := f.Chmod(f.mode); err != nil && !errors.Is(err, errors.ErrUnsupported) {
			return errors.Join(err, f.Close())
		}
	}
	if !f.opt.Fast {
		if err := f.Sync(); err != nil {
			return errors.Join(err, f.Close())
		}
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := f.publish(); err != nil {
		return err
	}
	f.keep()
	if !f.opt.Fast {
		syncDir(filepath.Dir(f.path))
	}
	return nil
}

func (f *File) publish() error {
	defer Hold()()
	if !f.opt.Replace {
		return renameNew(f.Name(), f.path)
	}
	for _, input := range f.opt.Inputs { // the name may have become a link to an input
		if same(f.path, input) {
			return errors.New("is read here, and foldout never writes over what it reads")
		}
	}
	if was := f.opt.Since; was != nil {
		if now, err := os.Stat(f.path); err != nil || !os.SameFile(was, now) || now.Size() != was.Size() || !now.ModTime().Equal(was.ModTime()) {
			return ErrChanged
		}
	}
	target, err := filepath.EvalSymlinks(f.path) // a link stays a link: what it leads to is replaced
	if err != nil {
		target = f.path
	}
	if filepath.Dir(target) != filepath.Dir(f.path) {
		if resolved, err := filepath.EvalSymlinks(filepath.Dir(f.path)); err != nil || filepath.Dir(target) != resolved {
			target = f.path // another folder, perhaps another disk: the link itself is replaced
		}
	}
	return os.Rename(f.Name(), target)
}

// named puts the file's own name into an error that speaks of the temporary one.
func (f *File) named(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return &fs.PathError{Op: p.Op, Path: f.path, Err: p.Err}
	case errors.As(err, &l):
		return &fs.PathError{Op: l.Op, Path: f.path, Err: l.Err}
	}
	return &fs.PathError{Op: "write", Path: f.path, Err: err}
}

func (f *File) remove() error {
	defer f.keep()
	if err := os.Remove(f.Name()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Abort removes the temporary file. After Commit or Abort it does nothing.
func (f *File) Abort() error {
	if f.done {
		return nil
	}
	f.done = true
	return errors.Join(f.Close(), f.remove())
}

// Write writes a whole file at once with write.
func Write(path string, opt Options, write func(io.Writer) error) error {
	f, err := Create(path, opt)
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		return errors.Join(err, f.Abort())
	}
	return f.Commit()
}
