//go:build unix

package atomicfile

import (
	"errors"
	"io/fs"
	"os"

	"golang.org/x/sys/unix"
)

// linkNew gives a file a second name, which fails if the name is taken, and takes the first away. Where the file system
// knows no links either, the name is claimed with an empty file first: only there a kill at the wrong moment can leave
// an empty file.
func linkNew(from, to string) error {
	err := os.Link(from, to)
	if err == nil {
		return os.Remove(from)
	}
	if errors.Is(err, fs.ErrExist) {
		return err
	}
	claim, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	if err := claim.Close(); err != nil {
		return errors.Join(err, os.Remove(to))
	}
	if err := os.Rename(from, to); err != nil {
		return errors.Join(err, os.Remove(to))
	}
	return nil
}

// gone tells whether no process has this number.
func gone(pid int) bool { return errors.Is(unix.Kill(pid, 0), unix.ESRCH) }

// syncDir makes the new name last. Some file systems cannot sync a folder; the file itself is safe all the same.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		d.Sync()  //nolint:errcheck // see above
		d.Close() //nolint:errcheck // only read
	}
}
