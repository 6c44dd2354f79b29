package main

import (
	"fmt"
	"os"
	"regexp"
	"runtime"
)

// machine says what the figures were taken on.
func machine() string {
	name := runtime.GOOS + "/" + runtime.GOARCH
	// Linux only; elsewhere the family has to do.
	if info, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		if m := regexp.MustCompile(`(?m)^model name\s*:\s*(.*)$`).FindSubmatch(info); m != nil {
			name = string(m[1]) + ", " + name
		}
	}
	name += fmt.Sprintf(", %d cores used, %s", runtime.NumCPU(), runtime.Version())
	if load, err := os.ReadFile("/proc/loadavg"); err == nil {
		var one float64
		if _, err := fmt.Sscan(string(load), &one); err == nil {
			name += fmt.Sprintf(", load %.1f before the start", one)
		}
	}
	return name
}
