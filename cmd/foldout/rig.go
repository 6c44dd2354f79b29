package main

import (
	"io"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/patch"
	"foldout/plan/rig"
)

func newRig() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "rig",
		Short: "Describe the hardware: outputs, speakers, summing unit, return",
		Args:  args(cobra.NoArgs),
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newRigNew(), newRigShow())
	return cmd
}

func newRigShow() *cobra.Command {
	var (
		svg   string
		force bool
	)
	cmd := &cobra.Command{
		Use:     "show FILE",
		Short:   "Check a rig and draw it: which pairs are free, what is left over",
		Example: "  foldout rig show studio.toml\n  foldout rig show studio.toml --svg studio.svg",
		Args:    args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			r, err := rig.Load(list[0])
			if err != nil {
				return err
			}
			p, err := patch.Empty(r)
			if err != nil {
				return err
			}
			if err := text.Rig(cmd.OutOrStdout(), r); err != nil {
				return err
			}
			return writeDrawing(cmd, svg, force, p)
		},
	}
	cmd.Flags().StringVar(&svg, "svg", "", "draw the rig into this SVG `FILE` as well")
	cmd.Flags().BoolVar(&force, "force", false, "replace an existing file")
	return cmd
}

func newRigNew() *cobra.Command {
	var (
		a   rigAnswers
		out string
	)
	cmd := &cobra.Command{
		Use:   "new --out FILE",
		Short: "Write a rig file, from a few questions or from flags",
		Long: `new asks a few plain questions and writes a rig file with comments, to be kept and edited by hand. With
--outputs it asks nothing and takes flags. It never replaces a file.

Several interfaces are given as lists: --outputs 32,8 --connector dsub,trs. A single value counts for all.`,
		Example: `  foldout rig new --out studio.toml
  foldout rig new --out studio.toml --outputs 16 --monitor 1/2 --inputs 16 --summing 16 --connector dsub
  foldout rig new --out studio.toml --outputs 32,8 --monitor 2:1/2 --summing 40 --connector dsub,trs --full-scale 24,20`,
		Args: args(cobra.NoArgs),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if out == "" {
				return usagef("where to? give --out FILE, for example --out studio.toml")
			}
			if err := absent(out); err != nil {
				return err
			}
			if !cmd.Flags().Changed("outputs") {
				if f := a.firstGiven(cmd); f != "" {
					return usagef("--%s without --outputs: give --outputs N as well, or no flags at all to be asked", f)
				}
				if err := a.ask(cmd.InOrStdin(), cmd.ErrOrStderr()); err != nil {
					return err
				}
			}
			r, err := a.rig()
			if err != nil {
				return err
			}
			if _, _, err := r.Pairs(); err != nil { // a rig that cannot be used is not written
				return err
			}
			if err := writeOut(cmd, out, false, func(w io.Writer) error { return rig.Write(w, r) }); err != nil {
				return err
			}
			return text.Rig(cmd.OutOrStdout(), r)
		},
	}
	f := cmd.Flags()
	f.StringVar(&out, "out", "", "`FILE` to write")
	a.register(f)
	return cmd
}
