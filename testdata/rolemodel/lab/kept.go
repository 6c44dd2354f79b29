package lab

import (
	"bytes"
	"compress/gzip"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
)

const (
	steps = 40 // steps of a kept number in one spread
	limit = 3  // what lies farther out is kept as this many spreads
)

// Kept is the content of a file of kept vectors: the elements' names with what is usual and the spread of each, labels, a row for each
// track, and numbers in steps of 1/40 of a spread, ordered as whoever keeps them likes.
type Kept struct {
	Names          []string
	Centre, Spread []float64
	Rows           [][]string
	Codes          []byte
}

// Code is the number that is kept for a value of an element: steps from the usual, three spreads at most.
func (k *Kept) Code(element int, v float64) int8 {
	z := math.Max(-limit, math.Min(limit, (v-k.Centre[element])/k.Spread[element]))
	return int8(math.Round(z * steps))
}

// Value is the value of an element that a kept number stands for.
func (k *Kept) Value(element int, code int8) float64 {
	return k.Centre[element] + k.Spread[element]*float64(code)/steps
}

// Write packs all into a file.
func (k *Kept) Write(path string) error {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return err
	}
	w := csv.NewWriter(z)
	w.Write(append([]string{"elements"}, k.Names...))
	w.Write(append([]string{"centre"}, texts(k.Centre)...))
	w.Write(append([]string{"spread"}, texts(k.Spread)...))
	w.WriteAll(k.Rows)
	if err := w.Error(); err != nil {
		return err
	}
	z.Write([]byte{0})
	z.Write(k.Codes)
	if err := z.Close(); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

// ReadKept reads what Write packed; errors name the file.
func ReadKept(path string) (*Kept, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	k := &Kept{}
	if err := k.read(f); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return k, nil
}

func (k *Kept) read(f io.Reader) error {
	z, err := gzip.NewReader(f)
	if err != nil {
		return err
	}
	all, err := io.ReadAll(z)
	if err != nil {
		return err
	}
	text, codes, ok := bytes.Cut(all, []byte{0})
	if !ok {
		return fmt.Errorf("no numbers after the labels")
	}
	c := csv.NewReader(bytes.NewReader(text))
	c.FieldsPerRecord = -1
	rows, err := c.ReadAll()
	if err != nil || len(rows) < 4 {
		return fmt.Errorf("labels: %v", err)
	}
	k.Names, k.Rows, k.Codes = rows[0][1:], rows[3:], codes
	if k.Centre, err = numbers(rows[1][1:]); err != nil {
		return err
	}
	k.Spread, err = numbers(rows[2][1:])
	return err
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
