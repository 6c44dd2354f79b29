package changes

import (
	"fmt"
	"path/filepath"
	"slices"

	"foldout/features/timbre"
	"foldout/testdata/rolemodel/lab"
)

// Track is what was measured of a labelled track, plain and under every change. A change that does not apply, or after which nothing
// sounds, has no vector.
type Track struct {
	Body, File, Family string
	Plain              []float32
	Changed            map[string][]float32
}

// Measure measures a track, plain and under every change; nothing where it is quiet.
func Measure(planes [][]float32, rate int) (plain []float32, changed map[string][]float32) {
	if Quiet(planes) {
		return nil, nil
	}
	changed = map[string][]float32{}
	for _, c := range All {
		if y, r := c.Do(planes, rate); y != nil && !Quiet(y) {
			changed[c.Name] = Vector(y, r)
		}
	}
	return Vector(planes, rate), changed
}

const none = "-" // stands for a change without a vector

// Write keeps tracks in a file: elements in steps of 1/40 of the spread that the set gives them, held within three spreads of the
// usual as the ears hold them; those of a changed file as differences from the plain one.
func Write(path string, tracks []Track, set *lab.Set) error {
	k := lab.Kept{Names: timbre.Names, Centre: set.Centre, Spread: set.Spread}
	for _, t := range tracks {
		row := []string{t.Body, t.File, t.Family}
		for _, c := range All {
			if t.Changed[c.Name] == nil {
				row = append(row, none)
			} else {
				row = append(row, c.Name)
			}
		}
		k.Rows = append(k.Rows, row)
	}
	code := func(v []float32, e int) byte { return byte(k.Code(e, float64(v[e]))) }
	for e := range timbre.Names { // by element: neighbours are alike
		for _, t := range tracks {
			k.Codes = append(k.Codes, code(t.Plain, e))
		}
		for _, c := range All {
			for _, t := range tracks {
				if v := t.Changed[c.Name]; v != nil {
					k.Codes = append(k.Codes, code(v, e)-code(t.Plain, e))
				}
			}
		}
	}
	return k.Write(path)
}

// Read reads what Write kept, and the spread of each element then.
func Read(path string) (tracks []Track, spread []float64, err error) {
	k, err := lab.ReadKept(path)
	if err != nil {
		return nil, nil, err
	}
	if !slices.Equal(k.Names, timbre.Names) {
		return nil, nil, fmt.Errorf("%s: kept by another meter: measure it anew", path)
	}
	codes, spread := k.Codes, k.Spread
	vectors := 0
	for _, r := range k.Rows {
		if len(r) != 3+len(All) {
			return nil, nil, fmt.Errorf("%s: %s has %d columns, want %d", path, r[0], len(r), 3+len(All))
		}
		t := Track{Body: r[0], File: r[1], Family: r[2], Plain: make([]float32, len(spread)), Changed: map[string][]float32{}}
		vectors++
		for i, c := range All {
			if r[3+i] == c.Name {
				t.Changed[c.Name] = make([]float32, len(spread))
				vectors++
			}
		}
		tracks = append(tracks, t)
	}
	if len(codes) != vectors*len(spread) {
		return nil, nil, fmt.Errorf("%s: %d numbers for %d vectors of %d elements", path, len(codes), vectors, len(spread))
	}
	plain := make([]byte, len(tracks))
	for e := range spread {
		value := func(code byte) float32 { return float32(k.Value(e, int8(code))) }
		for i := range tracks {
			plain[i] = codes[i]
			tracks[i].Plain[e] = value(plain[i])
		}
		codes = codes[len(tracks):]
		for _, c := range All {
			for i, t := range tracks {
				if v := t.Changed[c.Name]; v != nil {
					v[e] = value(codes[0] + plain[i])
					codes = codes[1:]
				}
			}
		}
	}
	return tracks, spread, nil
}

// File is the name of kept changes in the folder of kept vectors.
const File = "steady.gz"

// Material reads the kept vectors in a folder, with how tracks among them move when only their file changes.
func Material(dir string) (*lab.Set, error) {
	set, err := lab.Read(dir)
	if err != nil {
		return nil, err
	}
	tracks, _, err := Read(filepath.Join(dir, File))
	if err != nil {
		return nil, err
	}
	for _, t := range tracks {
		plain := lab.Code(set, t.Plain)
		for _, c := range All {
			if v := t.Changed[c.Name]; v != nil && !c.Half {
				set.Moves = append(set.Moves, lab.Move{Body: t.Body, Plain: plain, Then: lab.Code(set, v)})
			}
		}
	}
	return set, nil
}
