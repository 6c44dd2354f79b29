// Command foldout folds a mix onto the line outputs of a hybrid studio and shows its reasons.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"

	"foldout/cmd/foldout/text"
	"foldout/plan/fold"
)

// Exit codes, as the help text lists them.
const (
	exitDone  = 0
	exitCould = 1 // could not do it, or not all of it
	exitUsage = 2 // wrong flags or arguments
)

// usageError marks a fault in the call rather than in the material.
type usageError struct{ error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// partial says that work was done, but not all of it; what is missing has been reported.
var errPartial = errors.New("some files could not be read")

func main() { os.Exit(run()) }

func run() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	err := newRoot().ExecuteContext(ctx)
	var usage usageError
	var option *fold.OptionError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(os.Stderr, "foldout: stopped; nothing was left half-written")
		return exitCould
	case errors.As(err, &usage), errors.As(err, &option):
		text.Complain(os.Stderr, "%v", err)
		return exitUsage
	}
	text.Complain(os.Stderr, "%v", err)
	return exitCould
}
