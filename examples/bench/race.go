package main

import (
	"fmt"
	"io"
	"os/exec"
	"runtime"
	"slices"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"
)

const (
	nameFoldout   = "foldout"
	nameOneWorker = "foldout, 1 worker"
	namePortable  = "foldout, plain Go"
	nameFFmpeg    = "ffmpeg"
	nameEBUR128   = "libebur128"
	namePlain     = "plain reading"
)

// contestant is one or more commands; of more, as many run at a time as there are cores.
type contestant struct {
	name     string
	commands [][]string
	env      []string     // in place of this program's own, if any
	before   func() error // run first, not measured; may be nil
}

// cost is what the commands of a contestant took together: CPU and wall time in seconds, and the peak memory of the
// largest of the processes in bytes, 0 where the system does not tell.
type cost struct {
	cpu, wall float64
	memory    int64
}

type result struct {
	name string
	cost cost
}

// race runs the contestants in turn, some rounds, and returns the medians.
func race(contestants []contestant, rounds int) ([]result, error) {
	costs := make([][]cost, len(contestants))
	for range rounds {
		for i, c := range contestants {
			cost, err := c.run()
			if err != nil {
				return nil, fmt.Errorf("%s: %w", c.name, err)
			}
			costs[i] = append(costs[i], cost)
		}
	}
	var results []result
	for i, c := range contestants {
		results = append(results, result{name: c.name, cost: cost{
			cpu:    median(costs[i], func(c cost) float64 { return c.cpu }),
			wall:   median(costs[i], func(c cost) float64 { return c.wall }),
			memory: int64(median(costs[i], func(c cost) float64 { return float64(c.memory) })),
		}})
	}
	return results, nil
}

func (c contestant) run() (cost, error) {
	if c.before != nil {
		if err := c.before(); err != nil {
			return cost{}, err
		}
	}
	var total cost
	var mutex sync.Mutex
	var group errgroup.Group
	group.SetLimit(runtime.NumCPU())
	start := time.Now()
	for _, command := range c.commands {
		group.Go(func() error {
			cmd := exec.Command(command[0], command[1:]...)
			cmd.Env = c.env
			if out, err := cmd.CombinedOutput(); err != nil {
				return fmt.Errorf("%w\n%s", err, out)
			}
			mutex.Lock()
			defer mutex.Unlock()
			total.cpu += (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds()
			total.memory = max(total.memory, peakMemory(cmd.ProcessState))
			return nil
		})
	}
	err := group.Wait()
	total.wall = time.Since(start).Seconds()
	return total, err
}

// median is the mean of the two in the middle when the number is even.
func median(costs []cost, value func(cost) float64) float64 {
	var v []float64
	for _, c := range costs {
		v = append(v, value(c))
	}
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}

// printTable prints what each took.
func printTable(w io.Writer, results []result) {
	fmt.Fprintf(w, "%-34s %10s %10s %10s\n", "", "CPU s", "clock s", "memory MB")
	for _, r := range results {
		memory := "unknown"
		if r.cost.memory > 0 {
			memory = fmt.Sprintf("%.0f", float64(r.cost.memory)/1e6)
		}
		fmt.Fprintf(w, "%-34s %10.2f %10.2f %10s\n", r.name, r.cost.cpu, r.cost.wall, memory)
	}
}

// printRatios prints the measuring pass against the others.
func printRatios(w io.Writer, results []result) {
	by := map[string]cost{}
	for _, r := range results {
		by[r.name] = r.cost
	}
	all, one := by[nameFoldout], by[nameOneWorker]
	for _, ours := range []string{nameFoldout, namePortable} {
		for _, other := range []string{nameFFmpeg, nameEBUR128, namePlain} {
			a, measured := by[ours]
			if c, ok := by[other]; ok && measured && c.cpu > 0 {
				fmt.Fprintf(w, "CPU time of %s re %s: %.2f\n", ours, other, a.cpu/c.cpu)
			}
		}
	}
	if runtime.NumCPU() == 2 && all.wall > 0 && all.cpu > 0 {
		fmt.Fprintf(w, "two workers against one: %.2f times as fast by the clock, %.2f by CPU time\n", one.wall/all.wall, 2*one.cpu/all.cpu)
	} else if all.wall > 0 {
		fmt.Fprintf(w, "%d workers against one: %.2f times as fast by the clock\n", runtime.NumCPU(), one.wall/all.wall)
	}
}
