package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/pflag"

	"foldout/features/wavfile"
	"foldout/plan/sheet"
)

// registerStarts adds the flag that says where late files begin.
func (m *measuring) registerStarts(f *pflag.FlagSet) {
	f.StringVar(&m.table, "offsets", "", "starts of files that begin late without a time stamp: a `TABLE` with the columns file and start (12.5, 0:01:12.5 or 600000 samples)")
}

// asIn takes the starts that an earlier sheet has, unless a table says otherwise.
func (m *measuring) asIn(offsets []sheet.Offset) {
	if m.table == "" {
		m.offsets = offsets
	}
}

// starts gives the samples at which files begin, by path, as the table or an earlier sheet says it.
func (m *measuring) starts(folder string, paths []string) (map[string]int64, error) {
	files := make([]string, len(paths))
	at := map[string]string{}
	for i, path := range paths {
		below, err := filepath.Rel(folder, path)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		files[i] = filepath.ToSlash(below)
		at[files[i]] = path
	}
	if m.table != "" {
		var err error
		if m.offsets, err = readOffsets(m.table, files, at); err != nil {
			return nil, err
		}
	}
	out := map[string]int64{}
	for _, o := range m.offsets {
		if path, ok := at[o.File]; ok {
			out[path] = o.Start
		}
	}
	return out, nil
}

// readOffsets reads a table of starts of the files given, which lie at the paths given.
func readOffsets(table string, files []string, at map[string]string) ([]sheet.Offset, error) {
	rows, err := sheet.LoadStarts(table)
	if err != nil {
		return nil, err
	}
	finder := sheet.NewFinder(files)
	line := map[string]int{}
	var out []sheet.Offset
	for _, row := range rows {
		n, err := finder.One(row.Track)
		if err != nil {
			return nil, fmt.Errorf("%s: line %d: %w", table, row.Line, err)
		}
		file := files[n]
		if before, twice := line[file]; twice {
			return nil, fmt.Errorf("%s: lines %d and %d both say where %s begins; keep one of them", table, before, row.Line, file)
		}
		line[file] = row.Line
		info, err := wavfile.ReadInfo(at[file])
		if err != nil {
			return nil, fmt.Errorf("%s: line %d: %w", table, row.Line, err)
		}
		out = append(out, sheet.Offset{File: file, Start: row.At(info.SampleRateHz)})
	}
	return out, nil
}
