package main

import (
	"encoding/json"
	"errors"
	"io"
	"os"

	"foldout/features/atomicfile"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
)

// writeOut writes a result to a file, or to standard output where no file is named. A file is written under a
// temporary name and renamed; an existing one is replaced only with force.
func writeOut(cmd *cobra.Command, path string, force bool, write func(io.Writer) error) error {
	if path == "" {
		return write(cmd.OutOrStdout())
	}
	if err := free(force, path); err != nil {
		return err
	}
	if st, err := os.Stat(path); err == nil && !st.Mode().IsRegular() {
		return writeDevice(path, write)
	}
	return atomicfile.Write(path, atomicfile.Options{Replace: force, Inputs: inputs(cmd)}, write)
}

// writeDevice writes a result to something that is no file, such as a pipe with a name.
func writeDevice(path string, write func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	return errors.Join(write(f), f.Close())
}

// writeJSON writes a document for machines.
func writeJSON[T any](w io.Writer, document T) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(document)
}

// warn writes a warning for people to standard error.
func warn(cmd *cobra.Command, format string, args ...any) {
	text.Complain(cmd.ErrOrStderr(), format, args...)
}
