package main

import (
	"cmp"
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"github.com/spf13/pflag"

	"foldout/features"
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
	if late, after, ok := alone(files, at, out); ok {
		return nil, fmt.Errorf("%s: line %d: %s would begin at %s, when all that comes before it has ended by %s; want the time after the earliest file, without the hour that a timecode begins with",
			table, line[late.file], late.file, clock(late.start), clock(after))
	}
	return out, nil
}

// longestGapS is the silence of a whole session, in seconds, beyond which a start is a slip (chosen): an hour of timecode, or
// minutes taken for hours, is twice as long, and a song is not.
const longestGapS = 1800

// span is where a file lies, in seconds after the session's zero.
type span struct {
	file       string
	start, end float64
}

// alone finds a file that a table lets begin long after all that comes before it has ended, at the time after.
func alone(files []string, at map[string]string, told []sheet.Offset) (late span, after float64, found bool) {
	given := map[string]int64{}
	for _, o := range told {
		given[at[o.File]] = o.Start
	}
	paths := make([]string, len(files))
	for i, f := range files {
		paths[i] = at[f]
	}
	starts := features.Starts(paths, given)
	var spans []span
	for i, path := range paths {
		info, err := wavfile.ReadInfo(path)
		if err != nil {
			continue // measuring says so
		}
		begin, ok := starts[path]
		if !ok && info.Bext != nil {
			begin = info.Bext.TimeReference
		}
		start := float64(begin) / float64(info.SampleRateHz)
		spans = append(spans, span{files[i], start, start + float64(info.Frames)/float64(info.SampleRateHz)})
	}
	slices.SortFunc(spans, func(a, b span) int { return cmp.Compare(a.start, b.start) })
	for i, s := range spans {
		if _, told := given[at[s.file]]; i > 0 && told && s.start > after+longestGapS {
			return span{s.file, s.start - spans[0].start, 0}, after - spans[0].start, true
		}
		after = max(after, s.end)
	}
	return span{}, 0, false
}

// clock writes seconds as hours, minutes and seconds.
func clock(seconds float64) string {
	s := int64(math.Round(seconds))
	return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
}
