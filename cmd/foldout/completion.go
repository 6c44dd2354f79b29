package main

import (
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"foldout/features"
	"foldout/plan/glossary"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// values is what a flag or an argument may be, for completion by the shell.
type values = cobra.CompletionFunc

// complete tells the shell what may stand behind the flags and arguments of all commands: files of the right kind, tracks of the
// folder or sheet at hand, pairs, buses, words.
func complete(root *cobra.Command) {
	for flag, is := range map[string]values{
		"tie": listed(tracksAtHand), "apart": listed(tracksAtHand), "exclude": tracksAtHand, "include": tracksAtHand, "pin": pinned,
		"pair": named(pairsOfSheet), "bus": named(busesOfSheet), "pairs": pairNumbers,
		"rig": ending("toml"), "habits": habitFiles, "sheet": ending("csv", "tsv", "txt", "json"), "grow": ending("json"), "like": ending("json"),
		"bits":      cobra.FixedCompletions([]string{"auto", "24", "16", "float"}, cobra.ShellCompDirectiveNoFileComp),
		"pan":       cobra.FixedCompletions(rig.PanLaws, cobra.ShellCompDirectiveNoFileComp),
		"connector": cobra.FixedCompletions(rig.Connectors, cobra.ShellCompDirectiveNoFileComp), "summing-connector": cobra.FixedCompletions(rig.Connectors, cobra.ShellCompDirectiveNoFileComp),
		"against": ending("wav", "aif", "aiff", "flac"), "offsets": ending("csv", "tsv", "txt"), "html": ending("html"), "svg": ending("svg"),
	} {
		each(root, func(cmd *cobra.Command) {
			if f := cmd.LocalNonPersistentFlags().Lookup(flag); f == nil || f.Value.Type() == "bool" {
				return
			}
			if err := cmd.RegisterFlagCompletionFunc(flag, is); err != nil {
				panic(err) // two rules for one flag
			}
		})
	}
	each(root, func(cmd *cobra.Command) {
		if f := cmd.LocalNonPersistentFlags().Lookup("format"); f != nil {
			var known []string
			for _, format := range []string{"text", "json", "csv"} {
				if strings.Contains(f.Usage, format) {
					known = append(known, format)
				}
			}
			if err := cmd.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(known, cobra.ShellCompDirectiveNoFileComp)); err != nil {
				panic(err)
			}
		}
		first, _, _ := strings.Cut(strings.TrimPrefix(cmd.Use, cmd.Name()+" "), " ")
		switch {
		case cmd.ValidArgsFunction != nil:
		case cmd.Name() == "explain":
			cmd.ValidArgsFunction = explained
		case first == "FOLDER" || first == "DIR":
			cmd.ValidArgsFunction = func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
				if len(args) > 0 {
					return nil, cobra.ShellCompDirectiveNoFileComp
				}
				return nil, cobra.ShellCompDirectiveFilterDirs
			}
		case first == "SHEET" || first == "SHEET...":
			cmd.ValidArgsFunction = func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
				if len(args) > 0 && first == "SHEET" {
					return nil, cobra.ShellCompDirectiveNoFileComp
				}
				return []string{"json"}, cobra.ShellCompDirectiveFilterFileExt
			}
		}
	})
}

// each visits a command and all below it.
func each(cmd *cobra.Command, visit func(*cobra.Command)) {
	visit(cmd)
	for _, c := range cmd.Commands() {
		each(c, visit)
	}
}

// ending completes files with one of these extensions.
func ending(extensions ...string) values {
	return cobra.FixedCompletions(extensions, cobra.ShellCompDirectiveFilterFileExt)
}

func habitFiles(_ *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
	if begun != "" && strings.HasPrefix(noHabits, begun) {
		return []string{noHabits}, cobra.ShellCompDirectiveNoFileComp
	}
	return []string{"toml"}, cobra.ShellCompDirectiveFilterFileExt
}

// tracksAtHand are the names of the tracks of the sheet or folder that the command was given, as they may be typed.
func tracksAtHand(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var files []string
	if doc, err := sheet.Load(args[0]); err == nil {
		for _, p := range doc.Pairs {
			for _, t := range p.Tracks {
				files = append(files, t.File)
			}
		}
	} else if paths, _, err := features.Find(args[0]); err == nil {
		for _, path := range paths {
			if local, err := filepath.Rel(args[0], path); err == nil {
				files = append(files, filepath.ToSlash(local))
			}
		}
	}
	find := sheet.NewFinder(files)
	names := make([]string, len(files))
	for i, f := range files {
		if names[i] = sheet.TrackName(f); len(find.All(names[i])) != 1 {
			names[i] = f
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// listed completes the last name of a list with commas.
func listed(one values) values {
	return func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		names, directive := one(cmd, args, begun)
		done := ""
		if typed := sheet.Names(begun); len(typed) > 1 {
			done = sheet.JoinNames(typed[:len(typed)-1]) + ","
		}
		out := make([]string, len(names))
		for i, n := range names {
			out[i] = done + sheet.JoinNames([]string{n})
		}
		return out, directive | cobra.ShellCompDirectiveNoSpace
	}
}

// pinned completes a track, and behind = a pair.
func pinned(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	track, _, ok := strings.Cut(begun, "=")
	names, directive := tracksAtHand(cmd, args, begun)
	if !ok {
		for i := range names {
			names[i] += "="
		}
		return names, directive | cobra.ShellCompDirectiveNoSpace
	}
	var out []string
	for n := range pairsWanted(cmd) {
		out = append(out, fmt.Sprintf("%s=%d", track, n+1))
	}
	return out, directive
}

// pairsWanted is the number of pairs of the command: of --pairs, of the rig, or as many as a small studio has.
func pairsWanted(cmd *cobra.Command) int {
	if n, err := cmd.Flags().GetInt("pairs"); err == nil && n > 0 {
		return min(n, sheet.MaxPairs)
	}
	if n := pairsOfRig(cmd); n > 0 {
		return n
	}
	const small = 8
	return small
}

// pairsOfRig counts the free pairs of the rig that --rig names; 0 without one.
func pairsOfRig(cmd *cobra.Command) int {
	path, err := cmd.Flags().GetString("rig")
	if err != nil || path == "" {
		return 0
	}
	r, err := rig.Load(path)
	if err != nil {
		return 0
	}
	pairs, _, err := r.Pairs()
	if err != nil {
		return 0
	}
	return len(pairs)
}

// pairNumbers completes a number of pairs, the rig's own first.
func pairNumbers(cmd *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	if cmd.Name() == "sweep" {
		return []string{"2..8", "2..16"}, cobra.ShellCompDirectiveNoFileComp
	}
	var out []string
	if n := pairsOfRig(cmd); n > 0 {
		out = append(out, strconv.Itoa(n)+"\tas many as the rig has free")
	}
	for n := 2; n <= 16; n++ {
		if n != pairsOfRig(cmd) {
			out = append(out, strconv.Itoa(n))
		}
	}
	return out, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
}

// named completes the part of a flag before =, from the sheet that the command was given.
func named(of func(*sheet.Sheet) []string) values {
	return func(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		if len(args) == 0 || strings.Contains(begun, "=") {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		doc, err := sheet.Load(args[0])
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return of(doc), cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace | cobra.ShellCompDirectiveKeepOrder
	}
}

func pairsOfSheet(doc *sheet.Sheet) (out []string) {
	for n, p := range doc.Pairs {
		out = append(out, fmt.Sprintf("%d=\t%s", n+1, p.Name))
	}
	return out
}

func busesOfSheet(doc *sheet.Sheet) (out []string) {
	for n, p := range doc.Pairs {
		for _, b := range p.Buses {
			out = append(out, fmt.Sprintf("%s=\tpair %d", b, n+1))
		}
	}
	return out
}

// explained completes the sheet, then a track or pair of it; words behind --glossary.
func explained(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	if lookup, err := cmd.Flags().GetBool("glossary"); err == nil && lookup {
		var words []string
		for _, t := range glossary.Glossary() {
			words = append(words, t.Word)
		}
		return words, cobra.ShellCompDirectiveNoFileComp
	}
	if len(args) == 0 {
		return []string{"json"}, cobra.ShellCompDirectiveFilterFileExt
	}
	if len(args) > 1 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	names, directive := tracksAtHand(cmd, args, begun)
	if doc, err := sheet.Load(args[0]); err == nil {
		for n, p := range doc.Pairs {
			names = append(names, fmt.Sprintf("%d\t%s", n+1, p.Name))
		}
	}
	return names, directive
}
