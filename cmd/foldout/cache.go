package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"foldout/features"
)

func newCache() *cobra.Command {
	var clear bool
	cmd := &cobra.Command{
		Use:   "cache",
		Short: "Show or clear the measurements kept between runs",
		Long: `foldout keeps what it has measured, so that a second run is instant. A file that has changed is measured anew.
cache says where the measurements are; cache --clear deletes them. The audio files themselves are never touched.`,
		Args: args(cobra.NoArgs),
		RunE: func(cmd *cobra.Command, _ []string) error {
			cache, err := features.OpenCache("")
			if err != nil {
				return err
			}
			if clear {
				if err := cache.Clear(); err != nil {
					return err
				}
				_, err := fmt.Fprintf(cmd.OutOrStdout(), "cleared %s\n", cache.Dir())
				return err
			}
			_, err = fmt.Fprintln(cmd.OutOrStdout(), cache.Dir())
			return err
		},
	}
	cmd.Flags().BoolVar(&clear, "clear", false, "delete all measurements kept")
	return cmd
}
