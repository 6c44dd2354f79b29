package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"foldout/plan/lesson"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// writeLesson writes the page and the pictures of a lesson into a folder.
func writeLesson(cmd *cobra.Command, doc *sheet.Sheet, folder, dir string, force bool) error {
	files := map[string]string{}
	for _, name := range []string{"lesson.html", "modulation.svg", "added.svg"} {
		files[name] = filepath.Join(dir, name)
		if err := free(force, files[name]); err != nil {
			return err
		}
	}
	bar := newBar(cmd.ErrOrStderr(), "listening")
	excerpt, err := lesson.Load(cmd.Context(), doc, stems.Options{Folder: folder}, bar.set)
	bar.finish()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	l := lesson.Teach(excerpt, doc)
	for name, write := range map[string]func(io.Writer) error{"lesson.html": l.WritePage, "modulation.svg": l.DrawModulation, "added.svg": l.DrawAdded} {
		if err := writeOut(cmd, files[name], force, write); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: open it in any browser\n", files["lesson.html"])
	return err
}
