//go:build unix

package wavfile

import "syscall"

// mostOpen is half of the files that the process may have open: the rest is for what it writes.
func mostOpen() int {
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &limit); err != nil {
		return 0
	}
	return max(4, int(min(uint64(limit.Cur), 1<<20))/2)
}
