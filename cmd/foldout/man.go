package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
	"github.com/spf13/pflag"
)

// newMan writes the manual pages that a release carries. It is for those who package foldout, and help does not list it.
func newMan() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:    "man --out DIR",
		Short:  "Write the manual pages into a folder",
		Long:   "man writes a manual page in section 1 for every command into the folder DIR, which has to be new or empty.\nThe date is that of SOURCE_DATE_EPOCH, or today.",
		Hidden: true,
		Args:   args(cobra.NoArgs),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if out == "" {
				return usagef("where to? give --out DIR, for example --out man")
			}
			if err := os.MkdirAll(out, 0o755); err != nil {
				return err
			}
			if there, err := os.ReadDir(out); err != nil || len(there) > 0 {
				if err == nil {
					err = fmt.Errorf("%s is not empty; choose a new folder", out)
				}
				return err
			}
			root := cmd.Root()
			onPaper(root)
			if err := doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "foldout " + version, Manual: "foldout"}, out); err != nil {
				return err
			}
			pages, err := filepath.Glob(filepath.Join(out, "*.1"))
			if err != nil {
				return err
			}
			for _, page := range pages {
				if err := switches(page); err != nil {
					return err
				}
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%d pages in %s\n", len(pages), out)
			return nil
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "`DIR` for the pages")
	return cmd
}

// onPaper readies a command and those below it for their pages: flags with the words of help instead of types and
// defaults of the program, stars as stars, and no word of when and by which library the page was made.
func onPaper(cmd *cobra.Command) {
	cmd.DisableAutoGenTag = true
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		f.Usage = strings.ReplaceAll(f.Usage, "*", `\*`)
		if f.Value.Type() == "bool" {
			return
		}
		f.Value = operand{f.Value, operandOf(f)}
		word, usage := pflag.UnquoteUsage(f)
		if value := strings.Trim(f.DefValue, "[]"); value != "" && value != "0" {
			usage += " (default " + value + ")"
		}
		f.Usage, f.DefValue = usage, word
	})
	for _, c := range cmd.Commands() {
		onPaper(c)
	}
}

// switches takes the value of switches, which nobody needs, out of a page.
func switches(path string) error {
	page, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	return os.WriteFile(path, bytes.ReplaceAll(page, []byte("[=false]"), nil), 0o644)
}
