//go:build linux

package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"syscall"
	"time"

	"golang.org/x/sys/unix"
)

// mark is a progress that was shown: percent, at a time.
type mark struct {
	what    string
	percent float64
	at      time.Duration
}

// sight is what a run showed on its terminal.
type sight struct {
	said  string
	marks []mark
	took  time.Duration
}

// shown finds a bar: what is done, and how much of it.
var shown = regexp.MustCompile(`([a-z]+)\s+(\d+)%`)

// watched runs a command on a terminal of its own and reads what it shows.
func watched(cmd *exec.Cmd) (*sight, error) {
	master, slave, err := terminal()
	if err != nil {
		return nil, err
	}
	cmd.Stderr = slave
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	s := &sight{}
	begun := time.Now()
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	if err := slave.Close(); err != nil {
		return nil, err
	}
	buf := make([]byte, 4096)
	for {
		n, err := master.Read(buf)
		for _, m := range shown.FindAllSubmatch(buf[:n], -1) {
			if percent, err := strconv.ParseFloat(string(m[2]), 64); err == nil {
				s.marks = append(s.marks, mark{string(m[1]), percent, time.Since(begun)})
			}
		}
		s.said = s.said[max(0, len(s.said)-4000):] + string(buf[:n])
		if err != nil {
			if !errors.Is(err, io.EOF) && !errors.Is(err, syscall.EIO) { // EIO is how Linux tells that the other side is closed
				return s, err
			}
			break
		}
	}
	err = cmd.Wait()
	s.took = time.Since(begun)
	return s, errors.Join(err, master.Close())
}

// terminal opens a pair of pseudo terminals.
func terminal() (master, slave *os.File, err error) {
	if master, err = os.OpenFile("/dev/ptmx", os.O_RDWR, 0); err != nil {
		return nil, nil, err
	}
	n, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	if err == nil {
		err = unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0)
	}
	if err == nil {
		slave, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|syscall.O_NOCTTY, 0)
	}
	if err == nil {
		err = unix.IoctlSetWinsize(int(slave.Fd()), unix.TIOCSWINSZ, &unix.Winsize{Row: 40, Col: 100})
	}
	if err != nil {
		return nil, nil, errors.Join(err, master.Close())
	}
	return master, slave, nil
}

// worst is by how many percent of its own time what the first bar showed was wrong at most.
func (s *sight) worst() float64 {
	if len(s.marks) == 0 {
		return 0
	}
	first, last := s.marks[0], s.marks[0]
	for _, m := range s.marks {
		if m.what == first.what {
			last = m
		}
	}
	worst := 0.0
	for _, m := range s.marks {
		if m.what == first.what && last.percent > 0 {
			worst = max(worst, math.Abs(m.percent-last.percent*m.at.Seconds()/last.at.Seconds()))
		}
	}
	return worst
}

// backwards tells where a bar went back, or "".
func (s *sight) backwards() string {
	for i := 1; i < len(s.marks); i++ {
		a, b := s.marks[i-1], s.marks[i]
		if a.what == b.what && b.percent < a.percent {
			return fmt.Sprintf("from %.0f %% to %.0f %%", a.percent, b.percent)
		}
	}
	return ""
}
