package atomicfile

import (
	"errors"

	"golang.org/x/sys/unix"
)

// renameNew renames a file and fails with fs.ErrExist if the new name is taken.
func renameNew(from, to string) error {
	err := unix.RenamexNp(from, to, unix.RENAME_EXCL)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOTSUP) { // a file system that does not know it
		return linkNew(from, to)
	}
	return err
}
