package main

import (
	"fmt"
	"os"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"foldout/cmd/foldout/text"
)

// version is set at release builds with -ldflags "-X main.version=...".
var version = "0.1.0"

// conversion is how the library words a number in a list that is none.
var conversion = regexp.MustCompile(`strconv\.\w+: parsing (".*"): .*$`)

func newRoot() *cobra.Command {
	cobra.MousetrapHelpText = "" // a double click opens the workbench, see bare
	root := &cobra.Command{
		Use:   "foldout",
		Short: "Fold a mix onto hardware outputs, with reasons",
		Long: `foldout takes the tracks of a mix, measures every one of them, and folds them onto the few stereo
pairs of line outputs that lead to an outboard summing unit: like with like, and every place explained
in measured numbers.

Start with:

  foldout demo                       an invented song, made and folded
  foldout suggest FOLDER --pairs 4   your own tracks, one file for each

It opens audio files for reading only and never replaces a file unless told to with --force.

Exit codes: 0 done; 1 could not do it, or not all of it; 2 wrong flags or arguments; 130 stopped by Ctrl-C; 143 told to end.`,
		Version:                    version,
		SilenceErrors:              true,
		SilenceUsage:               true,
		SuggestionsMinimumDistance: 2,
		Args: func(cmd *cobra.Command, list []string) error {
			if len(list) == 0 {
				return nil
			}
			if near := cmd.SuggestionsFor(list[0]); len(near) > 0 {
				return usagef("there is no command %q; did you mean %s?", list[0], strings.Join(near, " or "))
			}
			return usagef("there is no command %q; foldout --help lists them", list[0])
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return bare(cmd)
		},
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error {
		return usagef("%s", conversion.ReplaceAllString(err.Error(), "$1 is no number"))
	})
	cobra.AddTemplateFunc("flags", flagUsages)
	cobra.AddTemplateFunc("reflow", func(s string) string { return text.Reflow(s, text.Width(os.Stdout)) })
	root.SetHelpTemplate(strings.ReplaceAll(root.HelpTemplate(), "trimTrailingWhitespaces", "reflow"))
	for _, set := range []string{"LocalFlags", "InheritedFlags"} {
		root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), "."+set+".FlagUsages", "flags ."+set))
	}
	for _, command := range []func() *cobra.Command{
		newDemo,
		newMeasure,
		newSuggest,
		newCheck,
		newAdopt,
		newRename,
		newHabits,
		newSweep,
		newExplain,
		newRig,
		newLevels,
		newPatch,
		newStems,
		newTones,
		newTrace,
		newCompare,
		newListen,
		newSteps,
		newReport,
		newOpen,
		newCache,
		newMan,
	} {
		root.AddCommand(command())
	}
	root.InitDefaultCompletionCmd()
	refuseOtherShells(root)
	complete(root)
	return root
}

// refuseOtherShells makes completion for a shell that is not known a wrong call; cobra would show help and call it done.
func refuseOtherShells(root *cobra.Command) {
	for _, cmd := range root.Commands() {
		if cmd.Name() != "completion" {
			continue
		}
		cmd.Args = cobra.ArbitraryArgs
		cmd.RunE = func(cmd *cobra.Command, list []string) error {
			if len(list) == 0 {
				return cmd.Help()
			}
			return usagef("completion is there for bash, zsh, fish and powershell, not for %q", list[0])
		}
		for _, shell := range cmd.Commands() {
			shell.Args = args(cobra.NoArgs)
		}
	}
}

// flagUsages lists flags in the words of a person: "--pairs N", not the types of the program. A switch is a switch: that
// --force=false is possible as well helps nobody.
func flagUsages(f *pflag.FlagSet) string {
	shown := pflag.NewFlagSet("", pflag.ContinueOnError)
	shown.SortFlags = f.SortFlags
	f.VisitAll(func(flag *pflag.Flag) {
		c := *flag
		if c.Value.Type() != "bool" {
			c.Value = operand{c.Value, operandOf(flag)}
			c.DefValue = strings.ReplaceAll(strings.Trim(c.DefValue, "[]"), ".000000", "")
		}
		shown.AddFlag(&c)
	})
	const values = "[=true|false]"
	return strings.ReplaceAll(shown.FlagUsagesWrapped(text.Width(os.Stdout)), values, strings.Repeat(" ", len(values)))
}

// operand is a flag's value under the word that help shows for it.
type operand struct {
	pflag.Value
	word string
}

func (o operand) Type() string { return o.word }

// operandOf is that word, unless the flag's own text has one in backquotes: N for numbers, else the name in capitals.
func operandOf(f *pflag.Flag) string {
	switch f.Value.Type() {
	case "int", "uint", "uint64", "float64":
		return "N"
	case "intSlice", "float64Slice":
		return "N,N"
	}
	return strings.ToUpper(f.Name)
}

// args wraps one of cobra's argument checks so that a fault counts as wrong usage, and says how the command is called.
func args(check cobra.PositionalArgs) cobra.PositionalArgs {
	return func(cmd *cobra.Command, list []string) error {
		err := check(cmd, list)
		switch {
		case err == nil:
			return nil
		case cmd.HasSubCommands():
			return usagef("%w; see %s --help", err, cmd.CommandPath())
		}
		found := "nothing stands after " + cmd.Name()
		if len(list) > 0 {
			found = fmt.Sprintf("%q stands after %s", strings.Join(list, " "), cmd.Name())
		}
		_, operands, _ := strings.Cut(cmd.Use, " ")
		return usagef("%s; it is called so: %s (names with blanks in quotes; see %s --help)", found, strings.TrimSpace(cmd.CommandPath()+" "+operands), cmd.CommandPath())
	}
}
