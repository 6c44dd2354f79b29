package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// inputs lists the files that a command was told to read: its arguments, and every flag that names a file other than
// those it writes. They are never written over.
func inputs(cmd *cobra.Command) []string {
	files := append([]string{}, cmd.Flags().Args()...)
	cmd.Flags().Visit(func(f *pflag.Flag) {
		switch f.Name {
		case "apply", "file", "html", "out", "svg":
		default:
			files = append(files, f.Value.String())
		}
	})
	return files
}

// free says that nothing stands in the way of the files to be written, before long work for them begins. Empty names
// count for nothing; devices and pipes may be written to. Audio is never replaced by anything that free is asked about.
func free(force bool, paths ...string) error {
	seen := map[string]bool{}
	for _, path := range paths {
		if path == "" {
			continue
		}
		if abs, err := filepath.Abs(path); err == nil {
			if seen[abs] {
				return usagef("%s is named twice; give each result a file of its own", path)
			}
			seen[abs] = true
		}
		if err := freeOne(force, path); err != nil {
			return err
		}
	}
	return nil
}

func freeOne(force bool, path string) error {
	st, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		if _, err := os.Lstat(path); err == nil { // a link that leads nowhere is there as well
			return fmt.Errorf("%s exists, and is a link that leads nowhere; choose another name", path)
		}
		return nil
	}
	switch {
	case err != nil:
		return nil // writing will say it better
	case st.IsDir():
		return fmt.Errorf("%s is a folder; give the name of a file", path)
	case !st.Mode().IsRegular():
		return nil
	case holdsAudio(path):
		return fmt.Errorf("%s holds audio, and foldout never writes over audio; choose another name", path)
	case !force:
		return fmt.Errorf("%s exists; choose another name or give --force to replace it", path)
	}
	return nil
}

// holdsAudio looks at the first bytes of a file.
func holdsAudio(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 4)
	if _, err := io.ReadFull(f, head); err != nil {
		return false
	}
	for _, magic := range []string{"RIFF", "RF64", "BW64", "FORM", "fLaC", "OggS", "ID3\x03", "ID3\x04", "caff"} {
		if bytes.Equal(head, []byte(magic)) {
			return true
		}
	}
	return false
}
