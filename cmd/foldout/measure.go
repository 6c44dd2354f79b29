package main

import (
	"errors"
	"io"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/features"
	"foldout/plan/sheet"
)

func newMeasure() *cobra.Command {
	var (
		m      measuring
		format string
		out    string
		force  bool
	)
	cmd := &cobra.Command{
		Use:   "measure FOLDER",
		Short: "Measure every track of a folder",
		Long: `measure reads every audio file (WAV, AIFF, FLAC) below FOLDER once and prints what was measured: loudness (ITU-R BS.1770-5, EBU Tech
3342), sample and true peak, rms and crest factor, the long-term spectrum (centroid, spread, rolloff, flatness, ten
octave bands, registers), onsets, attack and decay, tonality, stereo figures and faults such as clipped runs, DC or
values that are no numbers. The table shows a selection, json has everything; faults go to standard error.`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			follow(cmd, &format, &out, nil)
			write, ok := profileWriters[format]
			if !ok {
				return usagef("--format %s: want text, json or csv", format)
			}
			if err := free(force, out); err != nil {
				return err
			}
			_, tracks, partial := m.folder(cmd, list[0], false)
			if partial != nil && !errors.Is(partial, errPartial) {
				return partial
			}
			for _, t := range tracks {
				for _, fault := range text.Faults(&t.Profile) {
					warn(cmd, "%s: %s", t.Profile.File, fault)
				}
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, tracks) }); err != nil {
				return err
			}
			return partial
		},
	}
	m.register(cmd.Flags())
	cmd.Flags().StringVar(&format, "format", "text", "text for people, json or csv for machines")
	cmd.Flags().StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	cmd.Flags().BoolVar(&force, "force", false, "replace an existing file")
	return cmd
}

var profileWriters = map[string]func(io.Writer, []*features.Analysis) error{
	"text": text.Profiles, "json": writeProfileJSON, "csv": text.ProfilesCSV,
}

func writeProfileJSON(w io.Writer, tracks []*features.Analysis) error {
	doc := struct {
		Schema int                 `json:"schema"`
		Tracks []*features.Profile `json:"tracks"`
	}{Schema: sheet.SchemaVersion, Tracks: []*features.Profile{}}
	for _, t := range tracks {
		doc.Tracks = append(doc.Tracks, &t.Profile)
	}
	return writeJSON(w, doc)
}
