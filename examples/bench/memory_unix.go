//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
)

// peakMemory is the largest resident memory a finished process had, in bytes.
func peakMemory(state *os.ProcessState) int64 {
	usage, ok := state.SysUsage().(*syscall.Rusage)
	switch {
	case !ok:
		return 0
	case runtime.GOOS == "darwin" || runtime.GOOS == "ios":
		return int64(usage.Maxrss) // bytes there, kilobytes elsewhere
	}
	return int64(usage.Maxrss) * 1024
}
