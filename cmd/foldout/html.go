package main

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"foldout/plan/report"
)

// htmlPage is the flag of every command whose result can be looked at.
type htmlPage struct{ file string }

func (h *htmlPage) register(f *pflag.FlagSet) {
	f.StringVar(&h.file, "html", "", "write a page to look at and to print into this `FILE` as well")
}

// write writes the page where a file is named for it.
func (h *htmlPage) write(cmd *cobra.Command, force bool, p report.Page) error {
	if h.file == "" {
		return nil
	}
	return writeOut(cmd, h.file, force, p.Write)
}
