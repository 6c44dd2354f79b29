package features

import (
	"fmt"
	"io/fs"
	"syscall"
)

// changed is when the system last changed anything of a file, and the file's number.
func changed(st fs.FileInfo) string {
	if s, ok := st.Sys().(*syscall.Stat_t); ok {
		return fmt.Sprintf("%d.%d %d", s.Ctimespec.Sec, s.Ctimespec.Nsec, s.Ino)
	}
	return "-"
}
