//go:build unix && !linux && !darwin

package atomicfile

// renameNew renames a file and fails with fs.ErrExist if the new name is taken.
func renameNew(from, to string) error { return linkNew(from, to) }
