// Command foldout folds a mix onto the line outputs of a hybrid studio and shows its reasons.
package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"foldout/cmd/foldout/text"
	"foldout/features/atomicfile"
	"foldout/plan/fold"
)

// Exit codes, as the help text lists them.
const (
	exitDone  = 0
	exitCould = 1 // could not do it, or not all of it
	exitUsage = 2 // wrong flags or arguments

	exitInterrupt = 130 // stopped by an interrupt (Ctrl-C): 128 and the signal's number, as shells have it
	exitTerm      = 143 // told to end
)

// usageError marks a fault in the call rather than in the material.
type usageError struct{ error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// partial says that work was done, but not all of it; what is missing has been reported.
var errPartial = errors.New("some files could not be read")

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(heapGrowth)
	}
	os.Exit(run())
}

// heapGrowth is by how many percent the heap may grow before it is swept. Half of what Go does by itself: rows are used again
// here, so that sweeping costs next to nothing (500 tracks: 21.7 CPU s either way), and memory is a fifth less.
const heapGrowth = 50

// grace is how long a command may take to end in order after a signal.
const grace = 300 * time.Millisecond

func run() int {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	var signalled atomic.Int32 // the exit code of the signal that came
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	go func() {
		code := exitInterrupt
		if <-signals == syscall.SIGTERM {
			code = exitTerm
		}
		signalled.Store(int32(code))
		stop()
		go func() { // a second signal waits for nothing
			<-signals
			os.Exit(code)
		}()
		time.Sleep(grace)
		atomicfile.Stop()
		stopped()
		os.Exit(code)
	}()
	root, out := newRoot(), &output{File: os.Stdout}
	root.SetOut(out)
	err := root.ExecuteContext(ctx)
	if err == nil && out.err != nil { // help and the like are written without a look at errors
		err = fmt.Errorf("the result could not be written: %w", out.err)
	}
	var usage usageError
	var option *fold.OptionError
	switch code := int(signalled.Load()); {
	case err == nil:
		return exitDone
	case code != 0:
		atomicfile.Stop()
		stopped()
		return code
	case errors.As(err, &usage), errors.As(err, &option):
		text.Complain(os.Stderr, "%s", inWords(err))
		return exitUsage
	}
	text.Complain(os.Stderr, "%s", inWords(err))
	return exitCould
}

// output is a file that remembers its first error.
type output struct {
	*os.File
	err error
}

func (o *output) Write(p []byte) (int, error) {
	n, err := o.File.Write(p)
	if err != nil && o.err == nil {
		o.err = err
	}
	return n, err
}

// inWords says an error without the names of system calls: "a.wav: there is no such file or folder".
func inWords(err error) string {
	said := err.Error()
	var path *fs.PathError
	if !errors.As(err, &path) {
		return said
	}
	what := path.Err.Error()
	if errors.Is(path.Err, fs.ErrNotExist) {
		what = "there is no such file or folder"
	}
	return strings.ReplaceAll(said, path.Error(), path.Path+": "+what)
}

func stopped() { fmt.Fprintln(os.Stderr, "foldout: stopped; nothing was left half-written") }
