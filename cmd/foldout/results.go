package main

import (
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"foldout/cmd/foldout/text"
	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// results holds the flags that say where a result goes and how it looks.
type results struct {
	format string
	out    string
	force  bool
	html   htmlPage
}

func (r *results) register(f *pflag.FlagSet, formats string) {
	f.StringVar(&r.format, "format", "text", formats+"; else the extension of --out says it")
	f.StringVar(&r.out, "out", "", "write to this `FILE` instead of the screen")
	f.BoolVar(&r.force, "force", false, "replace an existing file")
	r.html.register(f)
}

// follow takes the format from the extension of the file to be written, where none was asked for. A page is written
// beside the text on the screen.
func follow(cmd *cobra.Command, format, out, html *string) {
	if cmd.Flags().Changed("format") || *out == "" {
		return
	}
	switch strings.ToLower(filepath.Ext(*out)) {
	case ".json":
		*format = "json"
	case ".csv":
		*format = "csv"
	case ".html", ".htm":
		if html != nil && *html == "" {
			*html, *out = *out, ""
		}
	}
}

// writerFor finds the writer of a sheet and makes sure that nothing stands in the way.
func writerFor(cmd *cobra.Command, r *results, writers map[string]func(io.Writer, *sheet.Sheet) error, known string, why bool) (func(io.Writer, *sheet.Sheet) error, error) {
	follow(cmd, &r.format, &r.out, &r.html.file)
	write, ok := writers[r.format]
	if !ok {
		return nil, usagef("--format %s: want %s", r.format, known)
	}
	if why && r.format == "text" {
		write = text.SheetReasons
	}
	return write, free(r.force, r.out, r.html.file)
}

// registerChoice adds the flags that say which files are tracks.
func registerChoice(f *pflag.FlagSet, opt *fold.Options) {
	f.StringArrayVar(&opt.Exclude, "exclude", nil, "set the files that `PATTERN` names aside (\"*click*\"; may be repeated)")
	f.StringArrayVar(&opt.Include, "include", nil, "fold the files that `PATTERN` names, whatever they sound like (may be repeated)")
	f.BoolVar(&opt.EarsOnly, "ears-only", false, "ignore the names of the tracks")
	f.Uint64Var(&opt.Seed, "seed", 1, "seed of the search; the same seed gives the same sheet")
}

// warnAbout says on stderr what a sheet leaves open.
func warnAbout(cmd *cobra.Command, s *sheet.Sheet) {
	for _, w := range s.Warnings {
		warn(cmd, "%s", w)
	}
	for _, q := range s.Questions {
		warn(cmd, "%s: %s; it stays on its pair (%.0f %% sure; --exclude or --include settles it)", q.File, q.Text, 100*q.Certainty)
	}
}
