package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/features/atomicfile"
	"foldout/features/csvsafe"
	"foldout/features/wavfile"
	"foldout/plan/linecheck/simulate"
	"foldout/plan/linecheck/tones"
	"foldout/plan/linecheck/trace"
	"foldout/plan/printcheck"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// demoBeside writes, beside the folder of the demo, what the tour needs: the mix, and a grouping by hand with two mistakes.
func demoBeside(cmd *cobra.Command, dir string, s *sheet.Sheet) error {
	if err := writeByHand(dir+"-by-hand.csv", s); err != nil {
		return err
	}
	pairs, err := demoStems(cmd.Context(), s)
	if err != nil {
		return err
	}
	defer os.RemoveAll(filepath.Dir(pairs[0])) //nolint:errcheck // a folder of the system's for temporary files
	sources, frames, err := simulate.Files(pairs)
	if err != nil {
		return err
	}
	plain := simulate.Chain{RateHz: rateOf(pairs[0]), Paths: make([]simulate.Path, len(sources))}
	return plain.Record(cmd.Context(), sources, frames, dir+"-mix.wav", wavfile.Float32)
}

// demoStems writes the pairs of the demo into a temporary folder.
func demoStems(ctx context.Context, s *sheet.Sheet) ([]string, error) {
	session, err := stems.Open(s, stems.Options{})
	if err != nil {
		return nil, err
	}
	folder, err := os.MkdirTemp("", "foldout-demo-")
	if err != nil {
		return nil, err
	}
	atomicfile.Waste(folder) // it is removed in any case
	written, err := session.Write(ctx, stems.WriteOptions{Dir: folder, Float: true})
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(folder))
	}
	var paths []string
	for _, stem := range written.Stems {
		paths = append(paths, stem.Path)
	}
	return paths, nil
}

func rateOf(path string) int {
	info, err := wavfile.ReadInfo(path)
	if err != nil {
		return 0 // Record refuses it by name
	}
	return info.SampleRateHz
}

// misplaced are the two mistakes of the grouping by hand: a shaker among the voices and an organ among the drums.
var misplaced = []struct{ track, beside string }{{"11 Shaker", "25 Lead Vox"}, {"20 Organ", "01 Kick In"}}

// writeByHand writes the sheet as a table, with two tracks on wrong pairs.
func writeByHand(path string, s *sheet.Sheet) error {
	pairOf := map[string]int{}
	var names []string
	for n, p := range s.Pairs {
		for _, t := range p.Tracks {
			name := strings.TrimSuffix(t.File, filepath.Ext(t.File))
			names = append(names, name)
			pairOf[name] = n + 1
		}
	}
	slices.Sort(names)
	for _, m := range misplaced {
		if pair, ok := pairOf[m.beside]; ok && pairOf[m.track] > 0 {
			pairOf[m.track] = pair
		}
	}
	return atomicfile.Write(path, atomicfile.Options{}, func(w io.Writer) error {
		rows := [][]string{{"track", "pair"}}
		for _, name := range names {
			rows = append(rows, []string{name, strconv.Itoa(pairOf[name])})
		}
		return csvsafe.Write(w, rows)
	})
}

// demoStudio shows the studio side on an invented loop: a line check with two planted faults, and a print to compare.
func demoStudio(cmd *cobra.Command, dir string, s *sheet.Sheet) error {
	w := cmd.OutOrStdout()
	plan := tones.ForSheet(s)
	folder := dir + "-tones"
	if err := plan.Write(cmd.Context(), tones.Options{Dir: folder, Quick: true, RateHz: 48000, Encoding: wavfile.PCM16}); err != nil {
		return err
	}
	plan, err := tones.LoadPlan(folder)
	if err != nil {
		return err
	}
	loop := inventedLoop(len(plan.Sends))
	loop.RateHz = plan.RateHz
	loop.Paths[2].Invert = true // output 3
	loop.Paths[5].GainDB = -3.1 // output 6
	var sources []simulate.Source
	for n := range plan.Sends {
		sources = append(sources, plan.Sound(n))
	}
	if err := loop.Record(cmd.Context(), sources, plan.Frames+int64(plan.RateHz), dir+"-return.wav", wavfile.PCM24); err != nil {
		return err
	}
	fmt.Fprintf(w, "\nAn invented studio: %d outputs, a summing unit, a return. Two faults are planted.\n\n", len(plan.Sends))
	found, err := trace.Trace(cmd.Context(), dir+"-return.wav", plan, trace.Options{ToleranceDB: 0.3})
	if err != nil {
		return err
	}
	if err := text.Trace(w, found); err != nil {
		return err
	}
	if err := demoPrint(cmd, dir, s); err != nil {
		return err
	}
	compared, err := printcheck.Compare(cmd.Context(), dir+"-mix.wav", dir+"-print.wav", printcheck.Options{})
	if err != nil {
		return err
	}
	fmt.Fprintln(w, "\nThe faults mended, the song goes through and is printed. Mix against print:")
	fmt.Fprintln(w)
	return text.Compare(w, compared)
}

// demoPrint prints the song through the invented loop.
func demoPrint(cmd *cobra.Command, dir string, s *sheet.Sheet) error {
	pairs, err := demoStems(cmd.Context(), s)
	if err != nil {
		return err
	}
	defer os.RemoveAll(path.Dir(filepath.ToSlash(pairs[0]))) //nolint:errcheck // a folder of the system's for temporary files
	sources, frames, err := simulate.Files(pairs)
	if err != nil {
		return err
	}
	loop := inventedLoop(len(sources))
	loop.RateHz = rateOf(pairs[0])
	return loop.Record(cmd.Context(), sources, frames+int64(loop.RateHz)/10, dir+"-print.wav", wavfile.PCM24)
}

// inventedLoop is a summing unit with a little iron and a little hum (invented figures).
func inventedLoop(outputs int) simulate.Chain {
	c := simulate.Chain{Latency: 613.4, GainDB: -0.2, NoiseDBFS: -92, HumHz: 50, HumDBFS: -96, CrosstalkDB: -78, Seed: 1}
	for range outputs {
		c.Paths = append(c.Paths, simulate.Path{Second: 0.004, Third: -0.006, Iron: 0.01, LowCutHz: 4, HighCutHz: 60000})
	}
	return c
}
