package lab

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

const perPart = 4500 // rows in one kept file, so that none is over 1.5 MB

// Row is one labelled vector: a track, or a half of it.
type Row struct {
	Body      string // session, or source of recordings
	File      string
	Role      int // index into Roles
	Family    int // index into Families
	Kind      string
	Variation int    // 0 the whole track, -1 and -2 its halves
	Code      []int8 // standardised elements in steps of 1/steps
}

// Set is labelled material with the centre and spread of each element.
type Set struct {
	Names          []string
	Centre, Spread []float64
	Rows           []Row
	Moves          []Move // tracks whose files were changed, for recipes that ask what moves then
}

// ReadDumps reads tables as the tool in dump writes them and standardises them. Rows without a place in a fold are left
// out; an effect return counts as the role it returns.
func ReadDumps(paths []string) (*Set, error) {
	s := &Set{}
	var x [][]float64
	for _, p := range paths {
		f, err := os.Open(p)
		if err != nil {
			return nil, err
		}
		rows, err := csv.NewReader(bufio.NewReader(f)).ReadAll()
		f.Close()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p, err)
		}
		if len(rows) == 0 || len(rows[0]) < 8 {
			return nil, fmt.Errorf("%s: no table of vectors", p)
		}
		if s.Names == nil {
			s.Names = rows[0][7:]
		} else if !slices.Equal(s.Names, rows[0][7:]) {
			return nil, fmt.Errorf("%s: other elements than the tables before: measure it anew", p)
		}
		body := strings.TrimSuffix(filepath.Base(p), ".csv")
		for _, r := range rows[1:] {
			if r[4] == "" {
				continue
			}
			role := index(Roles, r[2])
			if role < 0 {
				role = index(Roles, roleOfReturn[r[4]])
			}
			family := index(Families, r[4])
			v, err := strconv.Atoi(r[6])
			if err != nil || role < 0 || family < 0 {
				return nil, fmt.Errorf("%s: a row with role %q, family %q, variation %q", p, r[2], r[4], r[6])
			}
			numbers := make([]float64, len(s.Names))
			for i, t := range r[7:] {
				if numbers[i], err = strconv.ParseFloat(t, 64); err != nil {
					return nil, fmt.Errorf("%s: %w", p, err)
				}
			}
			s.Rows = append(s.Rows, Row{Body: body, File: r[1], Role: role, Family: family, Kind: r[5], Variation: v})
			x = append(x, numbers)
		}
	}
	s.standardise(x)
	return s, nil
}

// standardise sets centre and spread of what trains, the median and half the distance of the 16th and 84th percentiles, to
// four digits, and codes the rows.
func (s *Set) standardise(x [][]float64) {
	for e := range s.Names {
		var column []float64
		for i := range x {
			if !Held(s.Rows[i].Body) {
				column = append(column, x[i][e])
			}
		}
		var mean, square float64
		for _, v := range column {
			mean += v / float64(len(column))
		}
		for _, v := range column {
			square += (v - mean) * (v - mean) / float64(len(column))
		}
		slices.Sort(column)
		at := func(q float64) float64 { return column[int(q*float64(len(column)-1)+0.5)] }
		spread := math.Max((at(0.84)-at(0.16))/2, 0.3*math.Sqrt(square)+1e-3)
		s.Centre, s.Spread = append(s.Centre, digits(at(0.5))), append(s.Spread, digits(spread))
	}
	for i := range x {
		s.Rows[i].Code = Code(s, x[i])
	}
}

// Code standardises a vector as the rows of a set are.
func Code[T float32 | float64](s *Set, vector []T) []int8 {
	k, code := s.kept(), make([]int8, len(s.Names))
	for e, v := range vector {
		code[e] = k.Code(e, float64(v))
	}
	return code
}

func digits(v float64) float64 {
	f, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 4, 64), 64)
	return f
}

// Write keeps the set as parts of at most perPart rows in a folder.
func (s *Set) Write(dir string) error {
	for part := 0; part*perPart < len(s.Rows); part++ {
		rows := s.Rows[part*perPart : min(len(s.Rows), (part+1)*perPart)]
		k := s.kept()
		for _, r := range rows {
			k.Rows = append(k.Rows, []string{r.Body, r.File, Roles[r.Role], Families[r.Family], r.Kind, strconv.Itoa(r.Variation)})
		}
		for e := range s.Names { // by element: neighbours are alike
			for _, r := range rows {
				k.Codes = append(k.Codes, byte(r.Code[e]))
			}
		}
		if err := k.Write(filepath.Join(dir, fmt.Sprintf("part%d.gz", part+1))); err != nil {
			return err
		}
	}
	return nil
}

// Read reads what Write kept.
func Read(dir string) (*Set, error) {
	paths, err := filepath.Glob(filepath.Join(dir, "part*.gz"))
	if err != nil || len(paths) == 0 {
		return nil, fmt.Errorf("%s: no kept vectors (part1.gz ...)", dir)
	}
	s := &Set{}
	for _, p := range paths {
		if err := s.readPart(p); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// kept is a file of vectors without rows, with the elements of the set.
func (s *Set) kept() *Kept { return &Kept{Names: s.Names, Centre: s.Centre, Spread: s.Spread} }

func (s *Set) readPart(path string) error {
	k, err := ReadKept(path)
	if err != nil {
		return err
	}
	s.Names, s.Centre, s.Spread = k.Names, k.Centre, k.Spread
	if len(k.Codes) != len(k.Rows)*len(s.Names) {
		return fmt.Errorf("%s: %d numbers for %d rows of %d elements", path, len(k.Codes), len(k.Rows), len(s.Names))
	}
	for i, r := range k.Rows {
		v, err := strconv.Atoi(r[5])
		row := Row{Body: r[0], File: r[1], Role: index(Roles, r[2]), Family: index(Families, r[3]), Kind: r[4], Variation: v}
		if err != nil || row.Role < 0 || row.Family < 0 {
			return fmt.Errorf("%s: label %q", path, r)
		}
		row.Code = make([]int8, len(s.Names))
		for e := range row.Code {
			row.Code[e] = int8(k.Codes[e*len(k.Rows)+i])
		}
		s.Rows = append(s.Rows, row)
	}
	return nil
}
