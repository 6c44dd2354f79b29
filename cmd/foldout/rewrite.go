package main

import (
	"errors"
	"io"
	"os"

	"foldout/features/atomicfile"
	"foldout/plan/sheet"
)

// mostTries is how often a sheet is changed anew that others keep writing.
const mostTries = 20

// rewriteSheet changes a saved sheet and writes it where it was. What another program writes meanwhile is read and changed
// too, so that no change of theirs is lost.
func rewriteSheet(path string, change func(*sheet.Sheet) error) error {
	for try := 1; ; try++ {
		was, err := os.Stat(path)
		if err != nil {
			return err
		}
		doc, err := loadSheet(path)
		if err != nil {
			return err
		}
		if err := change(doc); err != nil {
			return err
		}
		err = atomicfile.Write(path, atomicfile.Options{Replace: true, Since: was}, func(w io.Writer) error { return writeJSON(w, doc) })
		if try == mostTries || !errors.Is(err, atomicfile.ErrChanged) {
			return err
		}
	}
}
