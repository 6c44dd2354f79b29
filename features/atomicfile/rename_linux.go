package atomicfile

import (
	"errors"

	"golang.org/x/sys/unix"
)

// renameNew renames a file and fails with fs.ErrExist if the new name is taken.
func renameNew(from, to string) error {
	err := unix.Renameat2(unix.AT_FDCWD, from, unix.AT_FDCWD, to, unix.RENAME_NOREPLACE)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOSYS) { // a file system that does not know it
		return linkNew(from, to)
	}
	return err
}
