package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/features/unpack"
	"foldout/plan/linecheck/portrait"
	"foldout/plan/linecheck/tones"
	"foldout/plan/linecheck/trace"
)

// errFaults is the end of a trace that found faults; they have been printed.
var errFaults = errors.New("the line check found faults")

var traceWriters = map[string]func(io.Writer, *trace.Result) error{"text": text.Trace, "json": writeJSON[*trace.Result]}

func newTrace() *cobra.Command {
	var (
		o                          trace.Options
		dir, format, out, baseline string
		html                       string
		force                      bool
	)
	cmd := &cobra.Command{
		Use:   "trace RETURN --tones DIR",
		Short: "Read the recorded return of a line check, output by output",
		Long: `trace reads a recording of the summing unit's return, made while the tones of foldout tones played, and says for
every output: alive or dead, left or right, gain, polarity, delay, frequency response, distortion, noise, crosstalk; and
for the whole loop: latency, drift of the clock, hum, clipping. Every finding comes with what to do.

The recording is a WAV, AIFF or FLAC file. It may begin and end anywhere around the tones, at any level and polarity. What it does not hold is said.
--baseline compares with a result kept as JSON. --html draws curves and the unit's portrait on a page to keep.

Exit codes: 0 no fault; 1 a fault was found, or the file could not be read; 2 wrong usage.`,
		Example: `  foldout trace return.wav --tones linecheck
  foldout trace return.wav --tones linecheck --format json --out monday.json
  foldout trace return.wav --tones linecheck --baseline monday.json --html unit.html`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) (err error) {
			if dir == "" {
				return usagef("which tones were played? give --tones DIR, the folder that foldout tones wrote")
			}
			follow(cmd, &format, &out, &html)
			write, ok := traceWriters[format]
			if !ok {
				return usagef("--format %s: want text or json", format)
			}
			if o.ToleranceDB <= 0 || o.ToleranceDB > 6 {
				return usagef("--tolerance %g: want more than 0 and at most 6 dB", o.ToleranceDB)
			}
			if err := free(force, out, html); err != nil {
				return err
			}
			plan, err := tones.LoadPlan(dir)
			if err != nil {
				return err
			}
			var last *trace.Result
			if baseline != "" {
				if last, err = loadTrace(baseline); err != nil {
					return err
				}
			}
			plain, done, err := unpack.Files(cmd.Context(), list[0])
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, done()) }()
			bar := newBar(cmd.ErrOrStderr(), "reading")
			o.Progress = bar.set
			result, err := trace.Trace(cmd.Context(), plain[0], plan, o)
			bar.finish()
			if err != nil {
				return err
			}
			if last != nil {
				result.Compare(last)
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, result) }); err != nil {
				return err
			}
			if html != "" {
				if err := writeOut(cmd, html, force, func(w io.Writer) error { return portrait.Write(w, result) }); err != nil {
					return err
				}
			}
			if result.Faulty() {
				return errFaults
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVar(&dir, "tones", "", "`FOLDER` of the tones that were played")
	f.Float64Var(&o.ToleranceDB, "tolerance", trace.DefaultToleranceDB, "how many `dB` outputs may differ in gain")
	f.StringVar(&baseline, "baseline", "", "an earlier result as JSON `FILE`, to say what has moved since")
	f.StringVar(&format, "format", "text", "text for people, json for machines; else the extension of --out says it")
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.StringVar(&html, "html", "", "write a page to look at, to print and to keep into this `FILE` as well")
	f.BoolVar(&force, "force", false, "replace existing files")
	return cmd
}

// loadTrace reads an earlier result.
func loadTrace(path string) (*trace.Result, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	r := &trace.Result{}
	if err := json.Unmarshal(data, r); err != nil {
		return nil, fmt.Errorf("%s is no result of foldout trace (%w); keep one with --format json --out FILE", path, err)
	}
	if r.Schema != trace.Schema || len(r.Channels) == 0 {
		return nil, fmt.Errorf("%s is no result of foldout trace of this version; keep one with --format json --out FILE", path)
	}
	return r, nil
}
