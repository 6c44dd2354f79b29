package changes

import (
	"bytes"
	"compress/gzip"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"

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

const (
	steps = 40  // steps of a kept number in one spread
	none  = "-" // stands for a change without a vector
)

// Write keeps tracks in a file: elements in steps of 1/40 of the spread that the set gives them, held within three spreads of the
// usual as the ears hold them; those of a changed file as differences from the plain one.
func Write(path string, tracks []Track, set *lab.Set) error {
	centre, spread := set.Centre, set.Spread
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return err
	}
	w := csv.NewWriter(z)
	w.Write(append([]string{"elements"}, timbre.Names...))
	w.Write(append([]string{"centre"}, texts(centre)...))
	w.Write(append([]string{"spread"}, texts(spread)...))
	for _, t := range tracks {
		row := []string{t.Body, t.File, t.Family}
		for _, c := range All {
			if t.Changed[c.Name] == nil {
				row = append(row, none)
			} else {
				row = append(row, c.Name)
			}
		}
		w.Write(row)
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return err
	}
	z.Write([]byte{0})
	code := func(v []float32, e int) byte {
		x := math.Max(-3, math.Min(3, (float64(v[e])-centre[e])/spread[e]))
		return byte(int8(math.Round(x * steps)))
	}
	for e := range timbre.Names { // by element: neighbours are alike
		for _, t := range tracks {
			z.Write([]byte{code(t.Plain, e)})
		}
		for _, c := range All {
			for _, t := range tracks {
				if v := t.Changed[c.Name]; v != nil {
					z.Write([]byte{code(v, e) - code(t.Plain, e)})
				}
			}
		}
	}
	if err := z.Close(); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

// Read reads what Write kept, and the spread of each element then.
func Read(path string) (tracks []Track, spread []float64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	content, err := io.ReadAll(z)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	text, codes, _ := bytes.Cut(content, []byte{0})
	c := csv.NewReader(bytes.NewReader(text))
	c.FieldsPerRecord = -1
	rows, err := c.ReadAll()
	if err != nil || len(rows) < 4 || !slices.Equal(rows[0][1:], timbre.Names) {
		return nil, nil, fmt.Errorf("%s: kept by another meter: measure it anew (%v)", path, err)
	}
	centre, err := numbers(rows[1][1:])
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	if spread, err = numbers(rows[2][1:]); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	vectors := 0
	for _, r := range rows[3:] {
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
		value := func(code byte) float32 { return float32(centre[e] + spread[e]*float64(int8(code))/steps) }
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

func texts(v []float64) []string {
	out := make([]string, len(v))
	for i, x := range v {
		out[i] = strconv.FormatFloat(x, 'g', -1, 64)
	}
	return out
}

func numbers(t []string) ([]float64, error) {
	out := make([]float64, len(t))
	for i, s := range t {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return nil, err
		}
		out[i] = v
	}
	return out, nil
}
